"""Every result of every log, read from the index a few thousand rows at a time."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import Connection, select

from stepwise.archive import tables
from stepwise.archive.export import Tidy

_AT_ONCE = 5000


def tidy_rows(connection: Connection) -> Iterator[Tidy]:
    """Every result of every log, the oldest log first; columns as in `COLUMNS`."""
    log, result = tables.log, tables.result
    chosen = (
        select(
            log.c.identity, log.c.name, log.c.unit, log.c.serial, log.c.episode,
            log.c.procedure, log.c.revision, log.c.bench, log.c.operator, log.c.began,
            log.c.ended, log.c.rehearsal, log.c.transcribed, result.c.step, result.c.channel,
            result.c.load, result.c.point, result.c.name, result.c.label, result.c.value,
            result.c.uncertainty, result.c.unit, result.c.verdict, result.c.probability,
        )
        .join(result, result.c.log_id == log.c.id)
        .order_by(log.c.began, log.c.id, result.c.place)
        .execution_options(yield_per=_AT_ONCE)
    )  # fmt: skip
    for row in connection.execute(chosen):
        yield tuple(row)
