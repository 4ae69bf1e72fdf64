"""The one writer of a journal: an event is returned only after it is on the disk."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from threading import Lock as ThreadLock
from types import TracebackType
from typing import Self

from stepwise.errors import JournalError
from stepwise.journal.durable import write_new
from stepwise.journal.event import NO_LINE, Event, encode, instant_text, line_hash
from stepwise.journal.folder import JOURNAL_NAME
from stepwise.journal.line_file import LineFile
from stepwise.journal.lock import Lock
from stepwise.journal.reader import examine, read_content


class Journal:
    """One writer of one journal.

    `create` and `open` take the log's lock, `close` gives it back; as a context manager it
    closes itself. What was kept is never written again. Threads may share a journal.
    """

    def __init__(self, file: LineFile, lock: Lock) -> None:
        """For `create` and `open`; others call those."""
        self._file = file
        self._lock = lock
        self._one_at_a_time = ThreadLock()
        self._events: list[Event] = []
        self._last_hash = NO_LINE
        self._is_closed = False
        self.set_aside: Path | None = None
        """The file that now holds the torn last line that `open` found, if there was one."""

    @classmethod
    def create(cls, folder: Path) -> Self:
        """Begin a journal.

        Args:
            folder: The log's folder; it exists and has no journal yet.

        Returns:
            The journal, without events, locked.

        Raises:
            JournalHeld: Another program has this log.
            JournalError: There is a journal already, or none can be made.
        """
        with _locked_file(folder, is_new=True) as (file, lock):
            file.settle(0)
            return cls(file, lock)

    @classmethod
    def open(cls, folder: Path) -> Self:
        """Go on with a journal: lock it, verify it, set a torn last line aside.

        Args:
            folder: The log's folder.

        Returns:
            The journal with all its events; `set_aside` names what was set aside.

        Raises:
            JournalHeld: Another program has this log.
            JournalError: There is no journal, it cannot be read or written, or it is damaged;
                then `line` says where, and nothing was changed.
        """
        with _locked_file(folder, is_new=False) as (file, lock):
            journal = cls(file, lock)
            journal._take_over()
            return journal

    @property
    def path(self) -> Path:
        """The journal's file."""
        return self._file.path

    @property
    def events(self) -> tuple[Event, ...]:
        """All events so far, each of them on the disk."""
        return tuple(self._events)

    def append(self, kind: str, data: Mapping[str, object], at: datetime) -> Event:
        """Add one event.

        Args:
            kind: What happened.
            data: A plain JSON object; it is copied.
            at: When, with its time zone.

        Returns:
            The event, as it will be read back. It is on the disk by now.

        Raises:
            JournalError: The event was not kept, or (the sentence says so) it is not certain
                that it was. Everything kept before is untouched.
            TypeError: `data` holds something that JSON has no form for; nothing was written.
            ValueError: `at` has no time zone, or `data` is nested too deeply; nothing was
                written.
        """
        with self._one_at_a_time:
            asked = Event(len(self._events) + 1, instant_text(at), kind, data)
            written = encode(asked, self._last_hash)
            self._file.add(written.line)
            self._events.append(written.event)
            self._last_hash = written.hash
            return written.event

    def close(self) -> None:
        """Give the lock back. Closing twice is no error.

        Raises:
            JournalError: The system reports an error; the lock is given back all the same.
        """
        with self._one_at_a_time:
            if self._is_closed:
                return
            self._is_closed = True
            try:
                self._file.close()
            finally:
                self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _take_over(self) -> None:
        content = read_content(self.path)
        record = examine(self.path, content)
        if record.damages:
            damage = record.damages[0]
            reason = f"this line {damage.reason}; the run cannot go on in this log"
            raise JournalError(self.path, reason, damage.line)
        if record.torn is not None:
            # First safe under its new name, only then out of the journal.
            self.set_aside = _keep_torn(self.path, record.torn)
            content = content.removesuffix(record.torn)
        # A writer that was killed may have left a line that was never synced. It counts as
        # kept from now on, so `settle` syncs also where there is nothing to cut.
        self._file.settle(len(content))
        self._events = list(record.events)
        self._last_hash = line_hash(_last_line(content)) if content else NO_LINE


@contextmanager
def _locked_file(folder: Path, *, is_new: bool) -> Iterator[tuple[LineFile, Lock]]:
    """The journal's file under its lock; both are let go again if what follows fails."""
    lock = Lock(folder)
    try:
        file = LineFile(folder / JOURNAL_NAME, is_new)
        try:
            yield file, lock
        except BaseException:
            file.close()
            raise
    except BaseException:
        lock.release()
        raise


def _keep_torn(journal: Path, torn: bytes) -> Path:
    number = 1
    while True:
        path = journal.with_name(f"journal.torn-{number:02d}")
        try:
            write_new(path, torn)
        except FileExistsError:
            number += 1
        except OSError as error:
            reason = f"the torn last line cannot be set aside: {error.strerror}"
            raise JournalError(path, reason) from error
        else:
            return path


def _last_line(content: bytes) -> bytes:
    return content[content.rfind(b"\n", 0, -1) + 1 :]
