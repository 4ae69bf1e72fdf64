"""Looking at a log without opening it for writing: no lock is taken, nothing is appended."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from stepwise.errors import JournalError
from stepwise.journal import Event, Record, read_journal
from stepwise.run.plan import plan_from_begin
from stepwise.run.run import Run


@dataclass(frozen=True, slots=True)
class ReadOnlyJournal:
    """The events of a journal; whoever tries to add one is told."""

    path: Path
    events: tuple[Event, ...]
    set_aside: Path | None = None

    def append(self, kind: str, data: Mapping[str, object], at: datetime) -> Event:
        """Refuse."""
        raise JournalError(self.path, f"the log is only being read; no {kind} is added")

    def close(self) -> None:
        """Nothing is held."""


def read_run(folder: Path) -> tuple[Run, Record]:
    """A run as its log tells it, with what is damaged of the log.

    Everything before the first damage is shown. Times that run on (a tone left on) stop at the
    last event.

    Raises:
        JournalError: There is no log, or not even its first line can be read.
        FileProblems: The procedure in the log is not understood by this version.
    """
    record = read_journal(folder)
    begin = record.events[0] if record.events else None
    if begin is None or begin.kind != "begin":
        raise JournalError(record.path, "the log does not say what it is a run of", 1)
    last = datetime.fromisoformat(record.events[-1].at.replace("Z", "+00:00")).astimezone(UTC)
    journal = ReadOnlyJournal(record.path, record.events)
    run = Run(plan_from_begin(begin.data, folder), journal, lambda: last)
    return run, record
