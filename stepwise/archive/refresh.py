"""Bringing the index up to date with a folder of logs: only what has changed is read."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Engine, select

from stepwise.archive import tables
from stepwise.archive.engine import writing
from stepwise.archive.entry import sound_text
from stepwise.archive.entry_reader import read_entry
from stepwise.archive.keep import forget, keep, note_journal
from stepwise.errors import JournalError

_JOURNAL = "journal.jsonl"
_AT_ONCE = 200
"""Logs read between two commits: an interrupted refresh goes on where it stopped."""
_UNREAD = (-1, -1)
"""State of a journal that may not be looked at."""

State = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Refreshed:
    """What a refresh has done."""

    read: int
    """Journals that were new or had changed."""
    gone: int
    """Logs that are no longer there."""


def refresh(engine: Engine, logs: Path) -> Refreshed:
    """Read what is new or has changed.

    A journal is taken for unchanged while its size and the time of its last change are.

    Args:
        engine: Of the index.
        logs: The folder of the logs; it need not exist.

    Raises:
        JournalError: The folder is there and cannot be listed.
    """
    with engine.connect() as connection:
        known = _known(connection)
    # A folder's name may hold bytes that are no text; it is kept by what can be shown of it.
    there = {sound_text(name): (name, state) for name, state in _journals(logs)}
    changed = [name for name, (_, state) in there.items() if known.get(name) != state]
    gone = [name for name in known if name not in there]
    for start in range(0, len(changed), _AT_ONCE):
        with writing(engine) as connection:
            for name in changed[start : start + _AT_ONCE]:
                folder, state = there[name]
                log_id = keep(connection, read_entry(logs / folder))
                note_journal(connection, name, log_id, state)
    dropped = 0
    if gone:
        with writing(engine) as connection:
            dropped = forget(connection, gone)
    return Refreshed(len(changed), dropped)


def _known(connection: Connection) -> dict[str, State]:
    journal = tables.journal
    rows = connection.execute(select(journal.c.name, journal.c.size, journal.c.changed))
    return {name: (size, changed) for name, size, changed in rows}


def _journals(logs: Path) -> Iterator[tuple[str, State]]:
    """Every folder with a journal, and the state of that; one system call for each."""
    try:
        with os.scandir(logs) as entries:
            names = [entry.name for entry in entries]
    except FileNotFoundError:
        return
    except OSError as error:
        raise JournalError(logs, f"the logs cannot be listed: {error.strerror}") from error
    for name in sorted(names):
        try:
            found = os.stat(f"{logs}/{name}/{_JOURNAL}")  # noqa: PTH116, a Path costs more than it
        except PermissionError:
            yield name, _UNREAD
        except OSError:
            continue  # a file, or a folder without a journal
        else:
            yield name, (found.st_size, found.st_mtime_ns)
