"""What is asked, as far as plausibility goes: where, of what, and what was aimed at."""

from __future__ import annotations

from dataclasses import dataclass

from stepwise.judge.findings import Findings, Result
from stepwise.quantities import Expected


@dataclass(frozen=True, slots=True)
class Asked:
    """One prompt, and what was read before it."""

    key: str
    step: str
    channel: str | None
    load: str | None
    kind: str
    """The step's kind."""
    name: str
    """The reading's name; `level_db` for a level of a sweep."""
    expected: Expected
    findings: Findings
    point: str = ""
    hertz: float | None = None
    """Frequency of the tone [Hz]; None where there is none."""
    reference_hertz: float = 1000.0
    """Frequency at which a row of levels stands at 0 dB [Hz]."""
    aim: float | None = None
    """What the card asks to set [V RMS]; None where it asks for nothing."""
    is_without_ranges: bool = False
    """It is read on a digital meter of which the bench states no ranges."""
    last_key: str | None = None
    """Key of the answer that was given just before."""

    def readings(self, name: str, **where: str | None) -> list[Result]:
        """Readings of a name in force, without any earlier answer to this very prompt."""
        return [
            result
            for result in self.findings.named(name, **where)
            if result.key is not None and result.key != self.key
        ]

    def reading(self, name: str, **where: str | None) -> Result | None:
        """The latest of them."""
        found = self.readings(name, **where)
        return found[-1] if found else None

    def fact(self, name: str) -> float | None:
        """A rating, or what the bench is marked with."""
        return self.findings.facts.get(name)

    def elsewhere(self, name: str) -> list[Result]:
        """The same reading of the same step, in its other passes."""
        return [each for each in self.readings(name, step=self.step) if not self.is_here(each)]

    def is_here(self, result: Result) -> bool:
        """Whether a result belongs to the pass of this prompt."""
        return (result.step, result.channel, result.load) == (self.step, self.channel, self.load)
