"""The whole archive for other programs: tidy, one row a result.

Columns, in this order; text that does not apply is empty, a number that does not apply is
missing:

=============  ======  ====================================================================
log            text    SHA-256 of the log's first line: the same wherever a copy lies
folder         text    name of the log's folder
unit           text    name of the unit
serial         text    its serial number or mark
episode        text    label that groups logs
procedure      text    name of the procedure
revision       int     of the procedure
bench          text    name of the bench
operator       text    who tested
began, ended   text    UTC, ISO 8601
rehearsal      bool    whether the bench was simulated
transcribed    bool    whether it was entered from notes
step           text    id of the step
channel, load  text    the pass; load in plain spelling, such as 8 ohm
point          text    a reading's name, a frequency, or tone/capacitor/what
name, label    text    of the result, for programs and for people
value          float   in `unit`
uncertainty    float   expanded, in `unit`
unit_of_value  text    SI unit in plain spelling, or dB, %, C
verdict        text    in spec, out of spec, too close to call, noted
probability    float   that the true value is inside the limit
=============  ======  ====================================================================
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from itertools import islice
from pathlib import Path
from types import MappingProxyType
from typing import IO, Any

from stepwise.archive.errors import ArchiveError
from stepwise.archive.extras import install_words
from stepwise.safe_text import csv_cell

Tidy = tuple[object, ...]

COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "log": "text", "folder": "text", "unit": "text", "serial": "text", "episode": "text",
        "procedure": "text", "revision": "int", "bench": "text", "operator": "text",
        "began": "text", "ended": "text", "rehearsal": "bool", "transcribed": "bool",
        "step": "text", "channel": "text", "load": "text", "point": "text", "name": "text",
        "label": "text", "value": "float", "uncertainty": "float", "unit_of_value": "text",
        "verdict": "text", "probability": "float",
    }
)  # fmt: skip
"""Column -> what it holds: text, int, float or bool."""

_AT_ONCE = 5000


def write_csv(rows: Iterable[Tidy], file: IO[str]) -> int:
    """Write rows as CSV, UTF-8 with line feeds; gives how many.

    Text from people is made harmless to a spreadsheet; numbers stay numbers.

    Args:
        rows: As `tidy_rows` gives them.
        file: Opened with `newline=""`.
    """
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(COLUMNS)
    count = 0
    for row in rows:
        writer.writerow([_cell(value) for value in row])
        count += 1
    return count


def _cell(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    return csv_cell(value) if isinstance(value, str) else value


def require_parquet(path: Path) -> None:
    """See that a Parquet file can be made, before anything is begun.

    Args:
        path: The file that is asked for, to name it.

    Raises:
        ArchiveError: pyarrow is not installed.
    """
    try:
        import pyarrow.parquet  # noqa: F401
    except ModuleNotFoundError:
        reason = f"Parquet needs pyarrow; {install_words('parquet')}"
        raise ArchiveError(str(path), reason) from None


def write_parquet(rows: Iterable[Tidy], path: Path) -> int:
    """Write rows as one Parquet file; gives how many.

    Raises:
        ArchiveError: pyarrow is not installed, or the file cannot be written.
    """
    require_parquet(path)
    import pyarrow as pa
    import pyarrow.parquet as pq

    kinds = {"text": pa.string(), "int": pa.int64(), "float": pa.float64(), "bool": pa.bool_()}
    schema = pa.schema([(name, kinds[kind]) for name, kind in COLUMNS.items()])
    remaining = iter(rows)
    count = 0
    with pq.ParquetWriter(path, schema) as writer:
        while batch := list(islice(remaining, _AT_ONCE)):
            writer.write_table(pa.table(_columns(batch), schema=schema))
            count += len(batch)
    return count


def _columns(batch: Sequence[Tidy]) -> dict[str, Sequence[Any]]:
    return dict(zip(COLUMNS, zip(*batch, strict=True), strict=True))
