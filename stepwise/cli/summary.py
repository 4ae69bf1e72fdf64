"""A log in a line, from recorded facts alone: nothing is worked out again for a list."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from stepwise.errors import JournalError


@dataclass(frozen=True, slots=True)
class LogSummary:
    """What a list says of a log."""

    folder: Path
    began: str = ""
    """Day of the beginning, UTC."""
    unit: str = ""
    procedure: str = ""
    title: str = ""
    """Title of the procedure."""
    state: str = ""
    """The verdict as recorded at the end, or how far the run got."""
    is_ended: bool = False
    marks: tuple[str, ...] = ()
    """"rehearsal", "transcribed"."""
    problem: str = ""
    """What is wrong with the journal."""

    @property
    def is_readable(self) -> bool:
        """Whether it is known what the run is about."""
        return bool(self.unit)


def summarise(folder: Path) -> LogSummary:
    """Sum a log up; a log that cannot be read is summed up by saying so."""
    from stepwise.journal import fold, read_journal

    try:
        record = read_journal(folder)
    except JournalError as error:
        return LogSummary(folder, problem=error.reason)
    state = fold(record.events)
    begin = state.begin
    problem = f"damaged at line {record.damages[0].line}" if record.damages else ""
    if not begin and not problem:
        problem = "nothing was recorded in it"
    return LogSummary(
        folder=folder,
        began=(state.began_at or "")[:10],
        unit=str(begin.get("unit_name", "")),
        procedure=str(begin.get("procedure_name", "")),
        title=str(begin.get("title", "")),
        state=_state(state.ended, len(state.answers)),
        is_ended=state.ended is not None,
        marks=tuple(mark for mark in ("rehearsal", "transcribed") if begin.get(mark)),
        problem=problem,
    )


def _state(ended: Mapping[str, object] | None, answered: int) -> str:
    if ended is None:
        return f"unfinished, {answered} answered"
    from stepwise.judge import Verdict, conclude

    is_complete = bool(ended.get("complete", True))
    verdict = str(ended.get("verdict", "ended"))
    if verdict not in list(Verdict):
        return verdict if is_complete else f"{verdict}, not complete"
    said = conclude(Verdict(verdict), is_complete=is_complete, severities=_severities(ended))
    return said.listed


def _severities(ended: Mapping[str, object]) -> Iterator[str]:
    """Of every flag that stood when the run was ended, where that was recorded."""
    closing = ended.get("closing")
    flags = closing.get("flags") if isinstance(closing, Mapping) else None
    for flag in flags if isinstance(flags, list | tuple) else ():
        if isinstance(flag, Mapping):
            yield str(flag.get("severity", ""))
