"""Putting logs into the index, and taking them out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import Connection, Table, delete, insert, select

from stepwise.archive import tables
from stepwise.archive.entry import Entry
from stepwise.archive.figures import RANKED
from stepwise.archive.rows import (
    Row,
    figure_rows,
    flag_rows,
    log_row,
    pool_of,
    result_rows,
    standing_rows,
)

_PARTS = (tables.result, tables.flag, tables.figure)


def keep(connection: Connection, entry: Entry) -> int:
    """Put a log in, in place of an earlier state of it; gives its id.

    Of two copies of one log the one that has gone on further stays.
    """
    known = connection.execute(
        select(tables.log.c.id, tables.log.c.digest, tables.log.c.events).where(
            tables.log.c.identity == entry.identity
        )
    ).first()
    if known is not None:
        if known.digest == entry.digest or known.events > entry.events:
            return int(known.id)
        drop(connection, int(known.id))
    log_id = put(connection, log_row(entry))
    for table, rows in zip(
        _PARTS,
        (result_rows(entry, log_id), flag_rows(entry, log_id), figure_rows(entry, log_id)),
        strict=True,
    ):
        put_all(connection, table, rows)
    settle(connection, entry.subject)
    return log_id


def put(connection: Connection, row: Row) -> int:
    """Put the row of a log in; gives its id."""
    made = connection.execute(insert(tables.log).values(row).returning(tables.log.c.id))
    return int(made.scalar_one())


def put_all(connection: Connection, table: Table, rows: Sequence[Row]) -> None:
    """Put rows in, if there are any."""
    if rows:
        connection.execute(insert(table), rows)


def drop(connection: Connection, log_id: int) -> None:
    """Take a log out, with all that belongs to it."""
    connection.execute(delete(tables.log).where(tables.log.c.id == log_id))


def settle(connection: Connection, subject: str) -> None:
    """Let the latest ended log of a unit stand for it in each of its pools, and no other.

    Args:
        connection: Within a transaction.
        subject: What tells the unit from others.
    """
    log, standing = tables.log, tables.standing
    rows = connection.execute(
        select(log.c.id, log.c.procedure, log.c.rehearsal)
        .where(log.c.subject == subject, log.c.ended != "")
        .order_by(log.c.began.desc(), log.c.id.desc())
    ).all()
    latest: dict[str, int] = {}
    for row in rows:
        pool = pool_of(rehearsal=row.rehearsal, procedure=row.procedure)
        latest.setdefault(pool, int(row.id))
    own = select(log.c.id).where(log.c.subject == subject)
    stand_now = set(
        connection.execute(
            select(standing.c.log_id).where(standing.c.log_id.in_(own)).distinct()
        ).scalars()
    )
    for log_id in stand_now - set(latest.values()):
        connection.execute(delete(standing).where(standing.c.log_id == log_id))
    for pool, log_id in latest.items():
        if log_id not in stand_now:
            put_all(connection, standing, _standing_rows(connection, log_id, pool))


def _standing_rows(connection: Connection, log_id: int, pool: str) -> list[Row]:
    figure = tables.figure
    chosen = select(figure).where(figure.c.log_id == log_id, figure.c.name.in_(RANKED))
    figures = connection.execute(chosen).mappings()
    return standing_rows([dict(each) for each in figures], log_id, pool)


def note_journal(connection: Connection, name: str, log_id: int, state: tuple[int, int]) -> None:
    """Remember as what a folder of this bench was read, so that it need not be read again.

    Args:
        connection: Within a transaction.
        name: Of the folder.
        log_id: Its log.
        state: Size of the journal [bytes] and time of its last change [ns].
    """
    journal = tables.journal
    connection.execute(delete(journal).where(journal.c.name == name))
    size, changed = state
    connection.execute(insert(journal).values(name=name, log_id=log_id, size=size, changed=changed))


def forget(connection: Connection, names: Iterable[str]) -> int:
    """Take out logs whose folders are gone; gives how many.

    A copy of the log in another folder keeps it in.
    """
    journal, log = tables.journal, tables.log
    gone = 0
    for name in names:
        found = connection.execute(
            select(journal.c.log_id, log.c.subject)
            .join(log, log.c.id == journal.c.log_id)
            .where(journal.c.name == name)
        ).first()
        connection.execute(delete(journal).where(journal.c.name == name))
        if found is None:
            continue
        other = select(journal.c.name).where(journal.c.log_id == found.log_id)
        if connection.execute(other).first() is None:
            drop(connection, int(found.log_id))
            settle(connection, found.subject)
            gone += 1
    return gone
