"""Finding logs in the index: filters, orders, and the plan that makes both quick.

A database that sorts by an index and filters on the way is quick where many logs pass, and slow
where few do; the other way round it is quick where few pass. So a first look counts up to a
few thousand, and the query is put accordingly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, exists, literal_column, select
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

_FEW = 2000
"""Up to so many logs are named one by one in the second query."""
_SHORTEST = 3
"""Letters that the text search of SQLite needs at least."""

Condition = ColumnElement[bool]


def find(connection: Connection, query: Query, logs: Path | None = None) -> Found:
    """The logs that a query asks for.

    Args:
        connection: To the index.
        query: Which, and in what order. Logs without the result that is sorted by are left out.
        logs: The folder of the logs, to say where each lies.

    Raises:
        QueryError: The query cannot be asked.
    """
    query.check()
    order = _order(connection, query)
    chosen = _ordered(_restricted(connection, query), order)
    rows = connection.execute(chosen.limit(query.limit + 1).offset(query.offset)).mappings().all()
    more = len(rows) > query.limit
    return Found(_filled(connection, rows[: query.limit], order, logs), more)


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
    known = select(figure.c.log_id).where(figure.c.name == name).limit(1)
    if connection.execute(known).first() is None:
        raise QueryError(f"no log has a result “{name}” to sort by; {_nearest(connection, name)}")
    load = query.sort_load.replace("Ω", "ohm")
    return _Order(name, load, is_figure=True, by_high=less, descending=less is query.reverse)


def _nearest(connection: Connection, name: str) -> str:
    from difflib import get_close_matches

    known = [*OWN_ORDERS, *_names(connection)]
    close = get_close_matches(name, known, n=1, cutoff=0.6)
    return f"did you mean “{close[0]}”?" if close else f"known: {', '.join(known)}"


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


def _restricted(connection: Connection, query: Query) -> list[Condition]:
    """The conditions of a query, as few ids where few logs meet them."""
    conditions = _conditions(query)
    quick = [*conditions, *_text_conditions(connection, query.text, indexed=True)]
    slow = [*conditions, *_text_conditions(connection, query.text, indexed=False)]
    if not quick:
        return []
    ids = connection.execute(select(tables.log.c.id).where(*quick).limit(_FEW + 1)).scalars().all()
    return [tables.log.c.id.in_(ids)] if len(ids) <= _FEW else slow


def _conditions(query: Query) -> list[Condition]:
    log = tables.log
    found: list[Condition] = []
    for column, wanted in (
        (log.c.unit_words, query.unit),
        (log.c.episode_words, query.episode),
        (log.c.procedure, query.procedure),
    ):
        if wanted.strip():
            found.append(column.contains(fold_words(wanted), autoescape=True))
    if query.verdict:
        found.append(log.c.verdict == query.verdict)
    if query.since is not None:
        found.append(log.c.began >= query.since.isoformat())
    if query.end:
        found.append(log.c.began < query.end)
    if query.rehearsals is not None:
        found.append(log.c.rehearsal == query.rehearsals)
    if query.flag:
        flag = tables.flag
        found.append(
            exists().where(and_(flag.c.log_id == log.c.id, flag.c.name == query.flag.strip()))
        )
    return found


def _text_conditions(connection: Connection, text: str, *, indexed: bool) -> list[Condition]:
    """Each word stands somewhere; by the text search where there is one and it is wanted."""
    log = tables.log
    words = fold_words(text).split()
    use_index = indexed and connection.dialect.name == "sqlite" and words and has_words(connection)
    long = [word for word in words if len(word) >= _SHORTEST] if use_index else []
    found: list[Condition] = [
        log.c.words.contains(word, autoescape=True) for word in words if word not in long
    ]
    if long:
        phrases = " AND ".join('"' + word.replace('"', '""') + '"' for word in long)
        rowids: Select[Any] = select(literal_column("rowid")).select_from(sql("stepwise_words"))
        match = sql("stepwise_words MATCH :phrases").bindparams(phrases=phrases)
        found.append(log.c.id.in_(rowids.where(match)))
    return found


def _ordered(conditions: Sequence[Condition], order: _Order) -> Select[Any]:
    log, figure = tables.log, tables.figure
    if not order.is_figure:
        chosen = select(log).where(*conditions)
        column = log.c[order.name]
    else:
        column = figure.c.high if order.by_high else figure.c.low
        spread = figure.c.high_uncertainty if order.by_high else figure.c.low_uncertainty
        chosen = (
            select(
                log,
                column.label("figure_value"),
                spread.label("figure_uncertainty"),
                figure.c.unit.label("figure_unit"),
            )
            .join(figure, figure.c.log_id == log.c.id)
            .where(figure.c.name == order.name, figure.c.load == order.load, *conditions)
        )
    # The second key makes pages of a list fit together.
    last = log.c.id if not order.is_figure else figure.c.log_id
    if order.descending:
        return chosen.order_by(column.desc(), last.desc())
    return chosen.order_by(column, last)


def _filled(
    connection: Connection, rows: Sequence[Any], order: _Order, logs: Path | None
) -> tuple[LogRow, ...]:
    flags = _flags(connection, [row["id"] for row in rows])
    return tuple(_row(row, flags.get(row["id"], ()), order, logs) for row in rows)


def _flags(connection: Connection, ids: Sequence[int]) -> dict[int, tuple[str, ...]]:
    flag = tables.flag
    found = connection.execute(
        select(flag.c.log_id, flag.c.name)
        .where(flag.c.log_id.in_(ids))
        .order_by(flag.c.log_id, flag.c.place)
    )
    names: dict[int, dict[str, None]] = {}
    for log_id, name in found:
        names.setdefault(log_id, {})[name] = None
    return {log_id: tuple(held) for log_id, held in names.items()}


def _row(row: Any, flags: tuple[str, ...], order: _Order, logs: Path | None) -> LogRow:
    made = plain_row(row, logs)
    figure = None
    if order.is_figure:
        figure = Figure(
            order.name, row["figure_value"], row["figure_uncertainty"], row["figure_unit"]
        )
    return replace(made, flags=flags, figure=figure)


def plain_row(row: Any, logs: Path | None) -> LogRow:
    """A row of the table of logs as a value."""
    folder = logs / row["name"] if logs is not None else None
    return LogRow(
        folder=folder,
        **{
            name: row[name]
            for name in (
                "identity", "name", "unit", "serial", "episode", "procedure", "revision",
                "title", "bench", "operator", "began", "ended", "verdict", "complete",
                "answered", "rehearsal", "transcribed", "problem",
            )
        },
    )  # fmt: skip
