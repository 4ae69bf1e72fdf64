"""Putting logs into the index, and taking them out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import Connection, Table, delete, insert, select, update

from stepwise.archive import tables
from stepwise.archive.entry import Entry
from stepwise.archive.rows import Row, figure_rows, flag_rows, log_row, pool_of, result_rows

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
    log = tables.log
    rows = connection.execute(
        select(log.c.id, log.c.procedure, log.c.rehearsal, log.c.ended, log.c.pool)
        .where(log.c.subject == subject)
        .order_by(log.c.began.desc(), log.c.id.desc())
    ).all()
    taken: set[str] = set()
    for row in rows:
        pool = pool_of(rehearsal=row.rehearsal, procedure=row.procedure)
        wanted = pool if row.ended and pool not in taken else ""
        taken.update({wanted} - {""})
        if wanted != row.pool:
            _move(connection, int(row.id), wanted)


def _move(connection: Connection, log_id: int, pool: str) -> None:
    connection.execute(update(tables.log).where(tables.log.c.id == log_id).values(pool=pool))
    figure = tables.figure
    connection.execute(update(figure).where(figure.c.log_id == log_id).values(pool=pool))


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
