"""A log as it is read: worked out again, without the writer's lock and without leaving a trace."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from stepwise.errors import JournalError
from stepwise.journal import Event, Record, read_journal
from stepwise.run.otherwise import Otherwise, worked_out_otherwise
from stepwise.run.plan import plan_from_begin
from stepwise.run.run import Run


@dataclass(frozen=True, slots=True)
class ReadOnlyJournal:
    """The events of a journal; whoever tries to add one is told."""

    path: Path
    events: tuple[Event, ...]
    set_aside: Path | None = None

    def append(self, kind: str, data: Mapping[str, object], at: datetime) -> Event:  # noqa: ARG002
        """Refuse.

        Raises:
            JournalError: Always.
        """
        raise JournalError(self.path, f"the log is only being read; no {kind} is added")

    def close(self) -> None:
        """Nothing is held."""


@dataclass(frozen=True, slots=True)
class RunView:
    """A run to look at; what would write to it raises `JournalError`."""

    run: Run
    record: Record
    """The journal as it was read, with its damages."""

    @property
    def ended_at(self) -> str | None:
        """UTC, ISO 8601; None while the run is not ended."""
        if not self.run.ended:
            return None
        ends = (event.at for event in reversed(self.record.events) if event.kind == "end")
        return next(ends, None)

    @property
    def otherwise(self) -> tuple[Otherwise, ...]:
        """What this version works out otherwise than it was shown at the bench."""
        return worked_out_otherwise(self.record.events, self.run.results())

    @property
    def warnings(self) -> tuple[str, ...]:
        """One sentence for each thing that is wrong with the journal; none where it is whole."""
        path = self.record.path
        said = [
            f"{path}:{damage.line}: this line {damage.reason}" for damage in self.record.damages
        ]
        if self.record.damages:
            count = len(self.record.events)
            lines = "line" if count == 1 else "lines"
            said.append(f"{path}: only the {count} sound {lines} before the damage can be shown")
        if self.record.torn is not None:
            said.append(
                f"{path}: the writing of the last line was cut off, so it was never told as kept"
            )
        return tuple(said)


def read_run(folder: Path) -> RunView:
    """Read a log; another program may be writing to it meanwhile.

    Everything before the first damage is shown. Times that run on (a tone left on) stop at the
    last event.

    Args:
        folder: The log's folder.

    Raises:
        JournalError: There is no journal, or it is damaged before anything can be told of it.
        FileProblems: The procedure, unit or bench in it is not understood by this version.
    """
    record = read_journal(folder)
    if not record.events:
        if record.damages:
            damage = record.damages[0]
            reason = f"this line {damage.reason}; nothing stands before it that could be shown"
            raise JournalError(record.path, reason, damage.line)
        raise JournalError(record.path, "the journal is empty: the run was never begun")
    plan = plan_from_begin(record.events[0].data, record.path)
    last = datetime.fromisoformat(record.events[-1].at)
    return RunView(Run(plan, ReadOnlyJournal(record.path, record.events), lambda: last), record)
