"""What was in a rehearsal all along: shown at its end, to learn from."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from stepwise.rehearsal.faults import find_fault, severity_word
from stepwise.run import Run


@dataclass(frozen=True, slots=True)
class Revealed:
    """One fault of a rehearsal, and whether it was noticed."""

    name: str
    severity: float
    """0 to 1."""
    summary: str
    expected: tuple[str, ...]
    """Names of flags and slips, any of which is the right one."""
    noticed: tuple[str, ...]
    """Those of them that the run carried."""

    @property
    def says(self) -> str:
        """One sentence: what it was."""
        return f"{self.name}, {severity_word(self.severity)}: {self.summary}."

    @property
    def outcome(self) -> str:
        """One sentence: whether it was noticed."""
        if self.noticed:
            return f"Noticed: {', '.join(self.noticed)}."
        return f"Not noticed: {' or '.join(self.expected)} would have said so."


def reveal(faults: Sequence[tuple[str, float]], noticed: Collection[str]) -> tuple[Revealed, ...]:
    """The faults that were in it, and which of them were noticed.

    Args:
        faults: Names with severities, each 0 to 1.
        noticed: Names of the flags and slips of the run.

    Raises:
        UnknownFault: There is no fault of a name.
    """
    return tuple(_revealed(name, severity, noticed) for name, severity in faults)


def _revealed(name: str, severity: float, noticed: Collection[str]) -> Revealed:
    fault = find_fault(name)
    seen = tuple(each for each in fault.flags if each in noticed)
    return Revealed(name, severity, fault.summary, fault.flags, seen)


def noticed_in(run: Run) -> tuple[str, ...]:
    """Names of everything that a run carries: its flags, and the slips that were doubted."""
    names = [flag.name for flag in run.flags()]
    names += [doubt.slip for doubt in run.state.doubts]
    return tuple(dict.fromkeys(names))
