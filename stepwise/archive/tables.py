"""The tables of the index, one form for SQLite and PostgreSQL.

Imported only where a database is wanted: SQLAlchemy takes a third of a second to come in.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
)

FORM = 1
"""Version of these tables. An index of another form is not understood."""

TABLES = MetaData()

_Id = BigInteger().with_variant(Integer, "sqlite")  # SQLite counts up by itself only for INTEGER

form = Table(
    "stepwise_form",
    TABLES,
    Column("form", Integer, primary_key=True, autoincrement=False),
)

log = Table(
    "stepwise_log",
    TABLES,
    Column("id", _Id, primary_key=True),
    Column("identity", Text, nullable=False, unique=True),
    Column("digest", Text, nullable=False),
    Column("events", Integer, nullable=False),
    Column("name", Text, nullable=False),
    Column("unit", Text, nullable=False),
    Column("serial", Text, nullable=False),
    Column("episode", Text, nullable=False),
    Column("procedure", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("title", Text, nullable=False),
    Column("bench", Text, nullable=False),
    Column("operator", Text, nullable=False),
    Column("began", Text, nullable=False),
    Column("ended", Text, nullable=False),
    Column("verdict", Text, nullable=False),
    Column("complete", Boolean, nullable=False),
    Column("answered", Integer, nullable=False),
    Column("rehearsal", Boolean, nullable=False),
    Column("transcribed", Boolean, nullable=False),
    Column("problem", Text, nullable=False),
    Column("price", Double),
    Column("currency", Text, nullable=False),
    Column("transformer", Double),
    Column("subject", Text, nullable=False),  # what tells its unit from others
    Column("flag_words", Text, nullable=False),  # names of the flags, each between blanks
    Column("unit_words", Text, nullable=False),
    Column("episode_words", Text, nullable=False),
    Column("words", Text, nullable=False),
    Index("stepwise_log_began", "began", "id"),
    Index("stepwise_log_unit", "unit", "began"),
    Index("stepwise_log_episode", "episode", "began"),
    Index("stepwise_log_procedure", "procedure", "began"),
    Index("stepwise_log_verdict", "verdict", "began"),
    Index("stepwise_log_subject", "subject", "began"),
    # Filters look at these alone, which is quicker than to go through whole rows.
    Index(
        "stepwise_log_filters",
        "unit_words",
        "episode_words",
        "procedure",
        "verdict",
        "began",
        "rehearsal",
        "flag_words",
    ).ddl_if(dialect="sqlite"),
)
"""One row a log. Times are UTC, ISO 8601, so that they sort as text."""


def _of_log(*, in_key: bool = True) -> Column[int]:
    """The log that a row belongs to; the row goes when the log does."""
    log_id = ForeignKey("stepwise_log.id", ondelete="CASCADE")
    return Column("log_id", _Id, log_id, primary_key=in_key, nullable=False)


result = Table(
    "stepwise_result",
    TABLES,
    _of_log(),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("step", Text, nullable=False),
    Column("channel", Text, nullable=False),
    Column("load", Text, nullable=False),
    Column("point", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("label", Text, nullable=False),
    Column("value", Double, nullable=False),
    Column("uncertainty", Double),
    Column("unit", Text, nullable=False),
    Column("verdict", Text, nullable=False),
    Column("probability", Double),
    sqlite_with_rowid=False,
)

flag = Table(
    "stepwise_flag",
    TABLES,
    _of_log(),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("name", Text, nullable=False),
    Column("severity", Text, nullable=False),
    Column("step", Text, nullable=False),
    Column("channel", Text, nullable=False),
    Column("load", Text, nullable=False),
    Column("says", Text, nullable=False),
    sqlite_with_rowid=False,
)

figure = Table(
    "stepwise_figure",
    TABLES,
    _of_log(),
    Column("name", Text, primary_key=True),
    Column("load", Text, primary_key=True),
    Column("label", Text, nullable=False),
    Column("unit", Text, nullable=False),
    Column("low", Double, nullable=False),
    Column("low_uncertainty", Double),
    Column("high", Double, nullable=False),
    Column("high_uncertainty", Double),
    Index("stepwise_figure_low", "name", "load", "low", "log_id"),
    Index("stepwise_figure_high", "name", "load", "high", "log_id"),
    sqlite_with_rowid=False,
)
"""What logs are sorted by."""

standing = Table(
    "stepwise_standing",
    TABLES,
    Column("pool", Text, primary_key=True),
    Column("name", Text, primary_key=True),
    Column("load", Text, primary_key=True),
    Column("unit", Text, primary_key=True),
    Column("value", Double, primary_key=True, autoincrement=False),
    _of_log(),
    Column("uncertainty", Double, nullable=False),
    Index("stepwise_standing_log", "log_id"),
    # SQLite keeps the whole row in the key; PostgreSQL is given an index that holds it.
    Index(
        "stepwise_standing_all", "pool", "name", "load", "unit", "value", "log_id", "uncertainty"
    ).ddl_if(dialect="postgresql"),
    sqlite_with_rowid=False,
)
"""What units are ranked by: one row for each figure of the log that stands for a unit."""

journal = Table(
    "stepwise_journal",
    TABLES,
    Column("name", Text, primary_key=True),
    _of_log(in_key=False),
    Column("size", BigInteger, nullable=False),
    Column("changed", BigInteger, nullable=False),  # time of the file's last change [ns]
    Index("stepwise_journal_log", "log_id"),
)
"""The folders of one bench's logs; empty in an archive that benches share."""
