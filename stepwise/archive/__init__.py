"""The logs together: found, laid side by side, ranked, and handed to other programs.

An index of the logs is kept in a database, SQLite in the logs folder or PostgreSQL for several
benches. It is derived from the journals and can be made again at any time; nothing is ever read
from it that a journal does not say. The values of this room know no database: `open_archive`
brings it in when it is asked for. Nothing here prints.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stepwise.archive.compare import MOST_SIDES, compare_runs
from stepwise.archive.comparison import (
    Bearing,
    Change,
    ComparedCurve,
    ComparedFlag,
    ComparedResult,
    Comparison,
    Condition,
    Difference,
    Side,
)
from stepwise.archive.comparison_record import comparison_record
from stepwise.archive.entry_reader import log_identity
from stepwise.archive.errors import ArchiveDamaged, ArchiveError
from stepwise.archive.export import COLUMNS, Tidy, require_parquet, write_csv, write_parquet
from stepwise.archive.occasion import ALLOWANCE
from stepwise.archive.opening import (
    INDEX_NAME,
    local_archive,
    open_archive,
    rebuild_local,
    with_local_archive,
)
from stepwise.archive.query import (
    OWN_ORDERS,
    VERDICTS,
    Figure,
    Found,
    LogRow,
    Query,
    QueryError,
)
from stepwise.archive.ranking import Ranking, Standing

if TYPE_CHECKING:
    from stepwise.archive.archive import Archive

__all__ = [
    "ALLOWANCE",
    "COLUMNS",
    "INDEX_NAME",
    "MOST_SIDES",
    "OWN_ORDERS",
    "VERDICTS",
    "Archive",
    "ArchiveDamaged",
    "ArchiveError",
    "Bearing",
    "Change",
    "ComparedCurve",
    "ComparedFlag",
    "ComparedResult",
    "Comparison",
    "Condition",
    "Difference",
    "Figure",
    "Found",
    "LogRow",
    "Query",
    "QueryError",
    "Ranking",
    "Side",
    "Standing",
    "Tidy",
    "compare_runs",
    "comparison_record",
    "local_archive",
    "log_identity",
    "open_archive",
    "rebuild_local",
    "require_parquet",
    "with_local_archive",
    "write_csv",
    "write_parquet",
]
