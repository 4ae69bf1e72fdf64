"""A log as it is read: the run worked out again, without the writer's lock and without a trace."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from stepwise.errors import JournalError
from stepwise.journal import Record, read_journal
from stepwise.run.plan import plan_from_begin
from stepwise.run.run import Run
from stepwise.run.store import ReadStore


@dataclass(frozen=True, slots=True)
class RunView:
    """A run for looking at; what would write to it raises `JournalError`."""

    run: Run
    record: Record
    """The journal as it was read, with its damages."""

    @property
    def is_whole(self) -> bool:
        """Whether everything that was written is there and unchanged."""
        return self.record.is_whole

    @property
    def warnings(self) -> tuple[str, ...]:
        """One sentence for each thing that is wrong with the journal."""
        said = [
            f"{self.record.path}:{damage.line}: this line {damage.reason}"
            for damage in self.record.damages
        ]
        if self.record.damages:
            count = len(self.record.events)
            lines = "line" if count == 1 else "lines"
            said.append(f"What is shown comes from the {count} sound {lines} before the damage")
        if self.record.torn is not None:
            said.append(
                f"{self.record.path}: the last line was cut off while it was written, so it was "
                "never reported as kept"
            )
        return tuple(said)

    @property
    def began_at(self) -> str:
        """UTC, ISO 8601."""
        return self.run.state.began_at or ""

    @property
    def ended_at(self) -> str | None:
        """UTC, ISO 8601; None while the run is not ended."""
        if not self.run.ended:
            return None
        ends = (event.at for event in reversed(self.record.events) if event.kind == "end")
        return next(ends, None)


def read_run(folder: Path) -> RunView:
    """Read a log; another program may be writing to it meanwhile.

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
    # A tone that was on when the record stops must not seem to be on ever since.
    last = datetime.fromisoformat(record.events[-1].at)
    return RunView(Run(plan, ReadStore(record), lambda: last), record)
