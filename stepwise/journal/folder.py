"""The folders of logs: `<date>-<unit>-<nn>`, each with one journal."""

from __future__ import annotations

import os
import re
import stat
import unicodedata
from datetime import UTC, date, datetime
from pathlib import Path
from typing import BinaryIO

from stepwise.errors import JournalError
from stepwise.journal.durable import sync_folder
from stepwise.journal.event import instant_text

JOURNAL_NAME = "journal.jsonl"

_LONGEST_SLUG = 40
_FIRST_INSTANT = re.compile(rb'\{"seq":1,"at":"([0-9TZ:.-]{1,40})"')
_INSTANT = re.compile(rb'^\{"seq":[0-9]{1,18},"at":"([0-9TZ:.-]{1,40})"', re.MULTILINE)
_HEAD = 80
_TAIL = 4096
"""Nearly always holds the last line whole; else more is read."""


def new_log_folder(logs: Path, unit_name: str, on: date) -> Path:
    """Make a folder for a new log, and `logs` itself where it is missing.

    Args:
        logs: The folder that holds the logs.
        unit_name: The unit's name, any text. The folder's name keeps of it a to z, 0 to 9 and
            hyphens (accents are taken off), so that it is safe on every file system; the name
            as it was typed belongs into the journal.
        on: The day of the run.

    Returns:
        The new folder, empty. Two programs that ask at once get two folders.

    Raises:
        JournalError: No folder can be made there.
    """
    name = f"{on.isoformat()}-{slug(unit_name, 'unit')}"
    try:
        logs.mkdir(parents=True, exist_ok=True)
        folder = _first_free(logs, name)
        sync_folder(logs)
    except OSError as error:
        raise JournalError(logs, f"no log can be started here: {error.strerror}") from error
    return folder


def find_log_folders(logs: Path) -> tuple[Path, ...]:
    """The folders in `logs` that hold a journal, the oldest run first.

    Args:
        logs: The folder that holds the logs. If it does not exist, there are none.

    Returns:
        Folders in the order of their first event, by name where two are equal. One that may
        not be looked into is among them: `read_journal` then says why.

    Raises:
        JournalError: `logs` is there and cannot be listed.
    """
    return tuple(sorted(_held(logs), key=_age))


def last_log_folder(logs: Path) -> Path | None:
    """The log that was written to last, whenever it began; None where there is no log.

    Args:
        logs: The folder that holds the logs.

    Raises:
        JournalError: `logs` is there and cannot be listed.
    """
    return max(_held(logs), key=lambda folder: (_last_instant(folder), _age(folder)), default=None)


def _held(logs: Path) -> list[Path]:
    """The folders in `logs` that hold a journal, in no order."""
    try:
        with os.scandir(logs) as entries:
            folders = [Path(entry.path) for entry in entries if entry.is_dir()]
    except FileNotFoundError:
        return []
    except OSError as error:
        raise JournalError(logs, f"the logs cannot be listed: {error.strerror}") from error
    return [folder for folder in folders if _has_journal(folder)]


def slug(text: str, fallback: str) -> str:
    """What of a name is safe in a file name: a to z, 0 to 9, single hyphens; never empty."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    safe = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")
    return safe[:_LONGEST_SLUG].rstrip("-") or fallback


def _first_free(logs: Path, name: str) -> Path:
    number = 1
    while True:
        folder = logs / f"{name}-{number:02d}"
        try:
            # mkdir is the test and the act in one, so that nobody can come between.
            folder.mkdir()
        except FileExistsError:
            number += 1
        else:
            return folder


def _has_journal(folder: Path) -> bool:
    try:
        return stat.S_ISREG((folder / JOURNAL_NAME).stat().st_mode)
    except PermissionError:
        return True
    except OSError:
        return False


def _age(folder: Path) -> tuple[str, str]:
    """When the log began: by its first line, else by the date that its name opens with."""
    try:
        with (folder / JOURNAL_NAME).open("rb") as journal:
            first = _FIRST_INSTANT.match(journal.read(_HEAD))
    except OSError:
        first = None
    return (first[1].decode("ascii") if first else folder.name[:10], folder.name)


def _last_instant(folder: Path) -> str:
    """When the journal was written to last: by its last event, else as `_age`.

    The clock of a rehearsal may run ahead of the real one; nothing was written later than the
    file says. The file's own time alone would not do: it is the copying's where logs were copied.
    """
    try:
        with (folder / JOURNAL_NAME).open("rb") as journal:
            found = _last_line_instant(journal)
            written = datetime.fromtimestamp(os.fstat(journal.fileno()).st_mtime, UTC)
    except (OSError, OverflowError, ValueError):
        return _age(folder)[0]
    return min(found, instant_text(written)) if found else _age(folder)[0]


def _last_line_instant(journal: BinaryIO) -> str:
    """The instant of the last line that opens as an event does; empty where none does."""
    size = journal.seek(0, os.SEEK_END)
    length = _TAIL
    while True:
        start = max(size - length, 0)
        journal.seek(start)
        # Within the text of an event there is no line feed, so that a line's opening is no quote.
        found = [match[1] for match in _INSTANT.finditer(journal.read(), 1 if start else 0)]
        if found or not start:
            return found[-1].decode("ascii") if found else ""
        length *= 8
