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
    select,
)

from stepwise.archive import tables
from stepwise.archive.errors import ArchiveError
from stepwise.archive.figures import RANKED, is_ranked, worse_end
from stepwise.archive.find import grave_flags, plain_row
from stepwise.archive.query import less_is_better
from stepwise.archive.ranking import Ranking, Standing
from stepwise.archive.rows import pool_of

_ORDER = tuple(RANKED)
Count = Select[int, Any]


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
        raise ArchiveError("", "the log is not in it; push it first")
    kind = "rehearsals" if row["rehearsal"] else "units"
    pool = pool_of(rehearsal=row["rehearsal"], procedure=row["procedure"])
    return Ranking(
        log=plain_row(row, logs, grave_flags(connection, [row["id"]])),
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
    counting = {less: _counting(less=less) for less in (False, True)}
    itself = _stand_in(connection, row, pool)
    for each in own:
        both = counting[less_is_better(each["name"])]
        yield _standing(connection, both, each, (pool, itself))


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
    connection: Connection, counting: tuple[Count, Count], own: Any, among: tuple[str, int]
) -> Standing:
    name = own["name"]
    end = worse_end(name)
    value, spread = own[end], own[f"{end}_uncertainty"]
    pool, itself = among
    given = {
        "pool": pool, "name": name, "load": own["load"], "unit": own["unit"],
        "itself": itself, "value": value, "square": (spread or 0.0) ** 2,
    }  # fmt: skip
    (ahead, surely_ahead), (behind, perhaps_ahead) = (
        connection.execute(count, given).one() for count in counting
    )
    return Standing(
        name=name,
        label=own["label"],
        load=own["load"],
        value=value,
        uncertainty=spread,
        unit=own["unit"],
        less_is_better=less_is_better(name),
        place=1 + int(ahead),
        best_place=1 + int(surely_ahead or 0),
        worst_place=1 + int(ahead) + int(perhaps_ahead or 0),
        of=1 + int(ahead) + int(behind),
    )


def _counting(*, less: bool) -> tuple[Count, Count]:
    """Statements that count the units ahead and those behind.

    Of those ahead also how many surely are, of those behind also how many may be ahead.
    """
    standing = tables.standing
    value: BindParameter[float] = bindparam("value", type_=Double())
    square: BindParameter[float] = bindparam("square", type_=Double())
    distance = standing.c.value - value
    both = standing.c.uncertainty * standing.c.uncertainty + square
    is_sure = distance * distance > both
    ahead = standing.c.value < value if less else standing.c.value > value
    behind = standing.c.value >= value if less else standing.c.value <= value
    among = (
        standing.c.pool == bindparam("pool"),
        standing.c.name == bindparam("name"),
        standing.c.load == bindparam("load"),
        standing.c.unit == bindparam("unit"),
        standing.c.log_id != bindparam("itself"),
    )
    # As good to the last figure, with nothing in doubt, shares the place.
    in_doubt = and_(not_(is_sure), both > 0.0)
    return (
        select(func.count(), func.sum(case((is_sure, 1), else_=0))).where(*among, ahead),
        select(func.count(), func.sum(case((in_doubt, 1), else_=0))).where(*among, behind),
    )
