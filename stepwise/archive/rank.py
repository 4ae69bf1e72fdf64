"""Where a unit stands among all that were tested."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, case, func, select

from stepwise.archive import tables
from stepwise.archive.errors import ArchiveError
from stepwise.archive.figures import PER_RATING
from stepwise.archive.find import plain_row
from stepwise.archive.query import MARK, PRICE, less_is_better
from stepwise.archive.ranking import Ranking, Standing
from stepwise.archive.rows import pool_of


@dataclass(frozen=True, slots=True)
class _Ranked:
    """A figure that units are ranked by."""

    name: str
    by_load: bool = False


_RANKED = (
    _Ranked(MARK), _Ranked("power", by_load=True), _Ranked("power_at_ten_percent", by_load=True),
    _Ranked(PER_RATING, by_load=True), _Ranked("sag", by_load=True), _Ranked("corner_low"),
    _Ranked("corner_high"), _Ranked("flatness"), _Ranked("source_impedance"),
    _Ranked("temperature"), _Ranked(PRICE),
)  # fmt: skip
"""In the order in which they are told. Of several channels the worse one counts."""


def rank(connection: Connection, identity: str, logs: Path | None = None) -> Ranking:
    """The places of a log's unit, each among the latest logs of all units.

    Uncertainties of two units are taken as independent, which they are at most: two readings
    of one meter would be told apart a little sooner.

    Args:
        connection: To the index.
        identity: Of the log. It is held against the others also where a later log of its unit
            counts for them; that one is left out.
        logs: The folder of the logs, to say where each lies.

    Raises:
        ArchiveError: The log is not in the index.
    """
    log = tables.log
    row = connection.execute(select(log).where(log.c.identity == identity)).mappings().first()
    if row is None:
        raise ArchiveError("", "the log is not in it")
    kind = "rehearsals" if row["rehearsal"] else "units"
    pool = pool_of(rehearsal=row["rehearsal"], procedure=row["procedure"])
    return Ranking(
        log=plain_row(row, logs),
        among=f"{kind} tested by {row['procedure']}",
        standings=tuple(_standings(connection, row, pool)),
    )


def _standings(connection: Connection, row: Any, pool: str) -> Iterator[Standing]:
    figure = tables.figure
    found = connection.execute(select(figure).where(figure.c.log_id == row["id"])).mappings()
    own = {(each["name"], each["load"]): each for each in found}
    stands_in = _stand_in(connection, row, pool)
    for ranked in _RANKED:
        for (name, load), each in own.items():
            if name == ranked.name and bool(load) is ranked.by_load:
                yield _standing(connection, each, pool, stands_in)


def _stand_in(connection: Connection, row: Any, pool: str) -> int:
    """The log that counts for the unit in this pool, which need not be the one asked about."""
    log = tables.log
    found = connection.execute(
        select(log.c.id).where(log.c.subject == row["subject"], log.c.pool == pool)
    ).scalar()
    return int(found) if found is not None else int(row["id"])


def _standing(connection: Connection, own: Any, pool: str, stands_in: int) -> Standing:
    name, load, unit = own["name"], own["load"], own["unit"]
    less = less_is_better(name)
    end = "high" if less else "low"
    value, spread = own[end], own[f"{end}_uncertainty"]
    figure = tables.figure
    among = [
        figure.c.name == name, figure.c.load == load, figure.c.pool == pool, figure.c.unit == unit
    ]  # fmt: skip
    counts = _counts(figure.c[end], figure.c[f"{end}_uncertainty"], value, spread, less=less)
    all_units = _counted(connection, counts, among)
    # The unit's own row, or that of its later log, is among those that were counted.
    itself = _counted(connection, counts, [*among, figure.c.log_id == stands_in])
    better, surely_better, not_surely_worse, of = (
        there - its for there, its in zip(all_units, itself, strict=True)
    )
    return Standing(
        name=name,
        label=own["label"],
        load=load,
        value=value,
        uncertainty=spread,
        unit=unit,
        less_is_better=less,
        place=1 + better,
        best_place=1 + surely_better,
        worst_place=1 + not_surely_worse,
        of=1 + of,
    )


def _counted(
    connection: Connection,
    counts: Sequence[ColumnElement[int]],
    conditions: Sequence[ColumnElement[bool]],
) -> tuple[int, ...]:
    row = connection.execute(select(*counts).where(*conditions)).one()
    return tuple(int(count or 0) for count in row)


def _counts(
    column: ColumnElement[float],
    column_spread: ColumnElement[float],
    value: float,
    spread: float | None,
    *,
    less: bool,
) -> tuple[ColumnElement[int], ...]:
    """How many are better, surely better, not surely worse; and how many there are."""
    ahead = value - column if less else column - value
    both = func.coalesce(column_spread, 0.0) * func.coalesce(column_spread, 0.0) + (
        (spread or 0.0) ** 2
    )
    is_sure = ahead * ahead > both
    surely_worse = and_(ahead < 0.0, is_sure)
    return (
        func.sum(case((ahead > 0.0, 1), else_=0)),
        func.sum(case((and_(ahead > 0.0, is_sure), 1), else_=0)),
        func.sum(case((surely_worse, 0), (and_(ahead == 0.0, both == 0.0), 0), else_=1)),
        func.count(),
    )
