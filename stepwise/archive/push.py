"""Copying logs from one index to another: to the archive that several benches share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Engine, select

from stepwise.archive import tables
from stepwise.archive.engine import writing
from stepwise.archive.keep import drop, put, put_all, settle

_PARTS = (tables.result, tables.flag, tables.figure)
_AT_ONCE = 50
"""Logs copied between two commits: an interrupted push goes on where it stopped."""


@dataclass(frozen=True, slots=True)
class Pushed:
    """What a push has done."""

    new: int
    updated: int
    """Logs that had gone on since they were pushed last."""
    same: int
    older: int
    """Logs of which the other archive has a later state."""


def push(source: Engine, target: Engine) -> Pushed:
    """Copy what the target lacks, or has in an earlier state.

    A log is known by the hash of its first line, so that one that is pushed twice, or from two
    copies, is one.
    """
    with source.connect() as here:
        mine = _states(here)
        with target.connect() as there:
            theirs = _states(there)
        new = [each for each in mine if each not in theirs]
        other = [each for each in mine if each in theirs and mine[each] != theirs[each]]
        ahead = [each for each in other if mine[each][1] >= theirs[each][1]]
        chosen = [*new, *ahead]
        for start in range(0, len(chosen), _AT_ONCE):
            with writing(target) as there:
                for identity in chosen[start : start + _AT_ONCE]:
                    _copy(here, there, identity)
    same = len(mine) - len(new) - len(other)
    return Pushed(len(new), len(ahead), same, len(other) - len(ahead))


def _states(connection: Connection) -> dict[str, tuple[str, int]]:
    log = tables.log
    rows = connection.execute(select(log.c.identity, log.c.digest, log.c.events))
    return {identity: (digest, events) for identity, digest, events in rows}


def _copy(here: Connection, there: Connection, identity: str) -> None:
    log = tables.log
    row = dict(here.execute(select(log).where(log.c.identity == identity)).mappings().one())
    source_id = row.pop("id")
    known = there.execute(select(log.c.id).where(log.c.identity == identity)).scalar()
    if known is not None:
        drop(there, int(known))
    target_id = put(there, row)
    for table in _PARTS:
        put_all(there, table, _rows(here, table, source_id, target_id))
    settle(there, row["subject"])


def _rows(here: Connection, table: Any, source_id: int, target_id: int) -> Sequence[dict[str, Any]]:
    found = here.execute(select(table).where(table.c.log_id == source_id)).mappings()
    return [dict(row) | {"log_id": target_id} for row in found]
