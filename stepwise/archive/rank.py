"""Where a unit stands among all that were tested."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import (
    BindParameter,
    Connection,
    Double,
    Select,
    and_,
    bindparam,
    case,
    func,
    not_,
    or_,
    select,
)

from stepwise.archive import tables
from stepwise.archive.errors import ArchiveError
from stepwise.archive.figures import RANKED, is_ranked, worse_end
from stepwise.archive.find import plain_row
from stepwise.archive.query import less_is_better
from stepwise.archive.ranking import Ranking, Standing
from stepwise.archive.rows import pool_of

_ORDER = tuple(RANKED)


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
    own = sorted(
        (each for each in found if is_ranked(each["name"], each["load"])),
        key=lambda each: (_ORDER.index(each["name"]), each["load"]),
    )
    counting = _counting()
    itself = _stand_in(connection, row, pool)
    for each in own:
        yield _standing(connection, counting, each, (pool, itself))


def _stand_in(connection: Connection, row: Any, pool: str) -> int:
    """The log that stands for the unit in this pool, which need not be the one asked about."""
    log, standing = tables.log, tables.standing
    found = connection.execute(
        select(log.c.id)
        .join(standing, standing.c.log_id == log.c.id)
        .where(log.c.subject == row["subject"], standing.c.pool == pool)
        .limit(1)
    ).scalar()
    return int(found) if found is not None else int(row["id"])


def _standing(
    connection: Connection, counting: Select[Any, Any, Any, int], own: Any, among: tuple[str, int]
) -> Standing:
    name = own["name"]
    end = worse_end(name)
    value, spread = own[end], own[f"{end}_uncertainty"]
    pool, itself = among
    better, surely_better, perhaps_better, others = connection.execute(
        counting,
        {
            "pool": pool, "name": name, "load": own["load"], "unit": own["unit"],
            "itself": itself, "value": value, "square": (spread or 0.0) ** 2,
            "sign": -1.0 if less_is_better(name) else 1.0,
        },
    ).one()  # fmt: skip
    return Standing(
        name=name,
        label=own["label"],
        load=own["load"],
        value=value,
        uncertainty=spread,
        unit=own["unit"],
        less_is_better=less_is_better(name),
        place=1 + int(better or 0),
        best_place=1 + int(surely_better or 0),
        worst_place=1 + int(perhaps_better or 0),
        of=1 + int(others),
    )


def _counting() -> Select[Any, Any, Any, int]:
    """How many are better, surely better, perhaps better, and how many there are."""
    standing = tables.standing

    def given(name: str) -> BindParameter[float]:
        return bindparam(name, type_=Double())

    ahead = given("sign") * (standing.c.value - given("value"))
    both = standing.c.uncertainty * standing.c.uncertainty + given("square")
    is_sure = ahead * ahead > both
    return select(
        func.sum(case((ahead > 0.0, 1), else_=0)),
        func.sum(case((and_(ahead > 0.0, is_sure), 1), else_=0)),
        # As good to the last figure, with nothing in doubt, shares the place.
        func.sum(case((or_(ahead > 0.0, and_(both > 0.0, not_(is_sure))), 1), else_=0)),
        func.count(),
    ).where(
        standing.c.pool == bindparam("pool"),
        standing.c.name == bindparam("name"),
        standing.c.load == bindparam("load"),
        standing.c.unit == bindparam("unit"),
        standing.c.log_id != bindparam("itself"),
    )
