"""Finding logs in the index: filters, orders, and the plan that makes both quick.

Where few logs pass the filters they are found first and sorted afterwards. Where many do, a
walk along the order looks each up among those that pass. A first look counts up to a few
thousand and decides; either way no query goes through the wide rows of all logs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, func, literal_column, select
from sqlalchemy import text as sql

from stepwise.archive import tables
from stepwise.archive.engine import has_words
from stepwise.archive.entry import fold_words
from stepwise.archive.query import (
    OWN_ORDERS,
    Figure,
    Found,
    LogRow,
    Query,
    QueryError,
    less_is_better,
)
from stepwise.errors import one_of_many
from stepwise.judge import Severity

_FEW = 2000
"""Up to so many logs are named one by one in the second query."""
_SHORTEST = 3
"""Letters that the text search of SQLite needs at least."""

_FIELDS = (
    "identity", "name", "unit", "serial", "episode", "procedure", "revision", "title", "bench",
    "operator", "began", "ended", "verdict", "complete", "answered", "rehearsal", "transcribed",
    "problem",
)  # fmt: skip

Condition = ColumnElement[bool]


def find(connection: Connection, query: Query, logs: Path | None = None) -> Found:
    """The logs that a query asks for.

    Args:
        connection: To the index.
        query: Which, and in what order. Logs without the result that is sorted by come last,
            whichever way round, the newest of them first.
        logs: The folder of the logs, to say where each lies.

    Raises:
        QueryError: The query cannot be asked.
    """
    query.check()
    order = _order(connection, query)
    passing = _passing(connection, query)
    page = _among(_ordered(order), _log_id(order), passing)
    wanted = [*connection.execute(page.limit(query.limit + 1).offset(query.offset))]
    if order.is_figure and len(wanted) <= query.limit:
        wanted += _without(connection, query, order, passing, page, len(wanted))
    more = len(wanted) > query.limit
    return Found(_filled(connection, wanted[: query.limit], order, logs), more)


@dataclass(frozen=True, slots=True)
class _Order:
    """How rows are put in order: by a column of the log, or by an end of a figure."""

    name: str
    load: str = ""
    is_figure: bool = False
    by_high: bool = False
    """Whether the highest counts; else the lowest."""
    descending: bool = False


def _order(connection: Connection, query: Query) -> _Order:
    name = query.sort_name
    if name in OWN_ORDERS and not query.sort_load:
        return _Order(name, descending=(name == "began") is not query.reverse)
    less = less_is_better(name)
    figure = tables.figure
    known = select(figure.c.log_id).where(figure.c.name == name)
    if connection.execute(known.limit(1)).first() is None:
        remedy = one_of_many(name, orders(connection), "stepwise logs --sort list")
        raise QueryError(f"no log has a result “{name}” to sort by; {remedy}")
    load = query.sort_load.replace("Ω", "ohm")
    if connection.execute(known.where(figure.c.load == load).limit(1)).first() is None:
        raise QueryError(f"no log has a result “{name}” into {load} to sort by")
    return _Order(name, load, is_figure=True, by_high=less, descending=less is query.reverse)


def orders(connection: Connection) -> list[str]:
    """Everything that logs can be sorted by, what is no result first."""
    return [*OWN_ORDERS, *_names(connection)]


def _names(connection: Connection) -> list[str]:
    """Names of all figures: from one to the next by the index, not through millions of rows."""
    figure = tables.figure
    names: list[str] = []
    last = ""
    while True:
        following = (
            select(figure.c.name).where(figure.c.name > last).order_by(figure.c.name).limit(1)
        )
        found = connection.execute(following).scalar()
        if found is None:
            return names
        names.append(found)
        last = found


_Passing = Sequence[int] | Select[Any] | None
"""Ids of the logs that pass the filters: one by one, or as a query; None where all pass."""


def _passing(connection: Connection, query: Query) -> _Passing:
    conditions = [*_conditions(connection, query), *_text_conditions(connection, query.text)]
    if not conditions:
        return None
    passing = select(tables.log.c.id).where(*conditions)
    ids = connection.execute(passing.limit(_FEW + 1)).scalars().all()
    return ids if len(ids) <= _FEW else passing


def _among(chosen: Select[Any], log_id: ColumnElement[int], passing: _Passing) -> Select[Any]:
    """Those of the chosen rows whose log passes the filters."""
    if passing is None:
        return chosen
    if isinstance(passing, Select):
        # Taken as it is, a database would rather begin with the logs that pass than walk along.
        return chosen.where((log_id + 0).in_(passing))
    return chosen.where(log_id.in_(passing))


def _without(
    connection: Connection,
    query: Query,
    order: _Order,
    passing: _Passing,
    page: Select[Any],
    taken: int,
) -> Sequence[Any]:
    """Ids of logs that have no such figure, as many as the page still has room for.

    Asked only where the logs that have one do not fill it, so that a full page costs no more.
    """
    log, figure = tables.log, tables.figure
    skipped = 0
    if query.offset and not taken:
        counted = select(func.count()).select_from(page.order_by(None).subquery())
        skipped = query.offset - connection.execute(counted).scalar_one()
    has_one = select(figure.c.log_id).where(
        figure.c.log_id == log.c.id, figure.c.name == order.name, figure.c.load == order.load
    )
    rest = _among(select(log.c.id).where(~has_one.exists()), log.c.id, passing)
    newest_first = rest.order_by(log.c.began.desc(), log.c.id.desc())
    room = query.limit + 1 - taken
    return connection.execute(newest_first.limit(room).offset(skipped)).all()


def _conditions(connection: Connection, query: Query) -> list[Condition]:
    log = tables.log
    found: list[Condition] = []
    for column, wanted in (
        (log.c.unit_words, query.unit),
        (log.c.episode_words, query.episode),
        (log.c.procedure, query.procedure),
    ):
        if wanted.strip():
            found.append(_holds(connection, column, fold_words(wanted)))
    if query.flag.strip():
        found.append(_holds(connection, log.c.flag_words, f" {query.flag.strip()} "))
    if query.verdict:
        found.append(log.c.verdict == query.verdict)
    if query.since is not None:
        found.append(log.c.began >= query.since.isoformat())
    if query.end:
        found.append(log.c.began < query.end)
    if query.rehearsals is not None:
        found.append(log.c.rehearsal == query.rehearsals)
    return found


def _holds(connection: Connection, column: ColumnElement[str], part: str) -> Condition:
    """Whether a text holds another, letter by letter."""
    if connection.dialect.name == "sqlite":
        return func.instr(column, part) > 0  # twice as quick there as LIKE
    return column.contains(part, autoescape=True)


def _text_conditions(connection: Connection, text: str) -> list[Condition]:
    """Each word stands somewhere; by the text search where there is one."""
    log = tables.log
    words = fold_words(text).split()
    use_index = bool(words) and connection.dialect.name == "sqlite" and has_words(connection)
    long = [word for word in words if use_index and len(word) >= _SHORTEST]
    found = [_holds(connection, log.c.words, word) for word in words if word not in long]
    if long:
        phrases = " AND ".join('"' + word.replace('"', '""') + '"' for word in long)
        rowids: Select[Any] = select(literal_column("rowid")).select_from(sql("stepwise_words"))
        match = sql("stepwise_words MATCH :phrases").bindparams(phrases=phrases)
        found.append(log.c.id.in_(rowids.where(match)))
    return found


def _log_id(order: _Order) -> ColumnElement[int]:
    return tables.figure.c.log_id if order.is_figure else tables.log.c.id


def _ordered(order: _Order) -> Select[Any]:
    """All logs in order. The second key makes pages of a list fit together."""
    log, figure = tables.log, tables.figure
    if not order.is_figure:
        column, last = log.c[order.name], log.c.id
        chosen: Select[Any] = select(log.c.id)
    else:
        column = figure.c.high if order.by_high else figure.c.low
        spread = figure.c.high_uncertainty if order.by_high else figure.c.low_uncertainty
        last = figure.c.log_id
        chosen = select(last, column, spread, figure.c.unit).where(
            figure.c.name == order.name, figure.c.load == order.load
        )
    if order.descending:
        return chosen.order_by(column.desc(), last.desc())
    return chosen.order_by(column, last)


def _filled(
    connection: Connection, wanted: Sequence[Any], order: _Order, logs: Path | None
) -> tuple[LogRow, ...]:
    """The rows of a page, in its order."""
    ids = [each[0] for each in wanted]
    found = connection.execute(select(tables.log).where(tables.log.c.id.in_(ids))).mappings()
    rows = {row["id"]: row for row in found}
    grave = grave_flags(connection, ids)
    made = []
    for log_id, *figure in wanted:
        row = plain_row(rows[log_id], logs, grave)
        shown = Figure(order.name, *figure) if figure else None
        made.append(replace(row, figure=shown))
    return tuple(made)


def grave_flags(connection: Connection, ids: Sequence[int]) -> Mapping[tuple[int, str], int]:
    """How many stops, and how many flags of what is wrong, stand in each of some logs.

    Args:
        connection: To the index.
        ids: Of the logs; few.

    Returns:
        Id and severity -> how many, where there are any.
    """
    flag = tables.flag
    chosen = (
        select(flag.c.log_id, flag.c.severity, func.count())
        .where(flag.c.log_id.in_(ids), flag.c.severity.in_((Severity.STOP, Severity.WRONG)))
        .group_by(flag.c.log_id, flag.c.severity)
    )
    return {(log_id, severity): count for log_id, severity, count in connection.execute(chosen)}


def plain_row(row: Any, logs: Path | None, grave: Mapping[tuple[int, str], int]) -> LogRow:
    """A row of the table of logs as a value.

    Args:
        row: With every column.
        logs: The folder of the logs, to say where it lies.
        grave: What `grave_flags` says of it.
    """
    return LogRow(
        folder=logs / row["name"] if logs is not None else None,
        flags=tuple(row["flag_words"].split()),
        stops=grave.get((row["id"], Severity.STOP.value), 0),
        wrongs=grave.get((row["id"], Severity.WRONG.value), 0),
        **{name: row[name] for name in _FIELDS},
    )
