"""What a whole run comes to, in words and in the sign that goes with them.

The verdict over all results says only how they stand to their limits. A board of which hardly
anything was held against a limit, or that gives no power at all, can be in spec by it: so what
is wrong beside it, and that a run is not finished, stand in the same breath, and no such whole
has the sign of one that is in spec.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from stepwise.judge.flag import Severity
from stepwise.judge.verdict import Verdict

Grade = Verdict | Severity
"""What gives a whole its sign and colour."""


@dataclass(frozen=True, slots=True)
class Conclusion:
    """The verdict over a run, with what may not be left unsaid beside it."""

    verdict: Verdict
    """Over all results."""
    is_complete: bool
    """Whether everything that could be asked was."""
    stops: int = 0
    """Flags of that severity that stand."""
    wrongs: int = 0

    @property
    def words(self) -> str:
        """A heading, in lower case: "in spec", "unfinished, in spec so far"."""
        if self.verdict is Verdict.OUT_OF_SPEC:
            return self.verdict.value
        begun = "" if self.is_complete else "unfinished, "
        so_far = "" if self.is_complete else " so far"
        return f"{begun}{self.verdict.value}{so_far}{self._but}"

    @property
    def listed(self) -> str:
        """The same for a row of a list, where nothing else tells that it is not complete."""
        is_told = self.is_complete or self.verdict is not Verdict.OUT_OF_SPEC
        return self.words if is_told else f"{self.words}, not complete"

    @property
    def brief(self) -> str:
        """The same for a narrow column: "in spec, 2 wrong"."""
        if self.verdict is Verdict.OUT_OF_SPEC:
            return self.verdict.value
        short = "too close" if self.verdict is Verdict.TOO_CLOSE else self.verdict.value
        if self.stops:
            return f"{short}, {self.stops} stop{'' if self.stops == 1 else 's'}"
        if self.wrongs:
            return f"{short}, {self.wrongs} wrong"
        return self.verdict.value if self.is_complete else f"{short} so far"

    @property
    def grade(self) -> Grade:
        """What gives it its sign and colour; that of `in spec` only where nothing is beside it."""
        if self.verdict is Verdict.OUT_OF_SPEC:
            return self.verdict
        if self.stops:
            return Severity.STOP
        if self.wrongs:
            return Severity.WRONG
        is_sure = self.is_complete or self.verdict is not Verdict.IN_SPEC
        return self.verdict if is_sure else Verdict.NOTED

    @property
    def beside(self) -> str:
        """What stands against it in words: "2 things are wrong"; empty where nothing does."""
        parts = []
        if self.stops:
            parts.append("a stop stands" if self.stops == 1 else f"{self.stops} stops stand")
        if self.wrongs:
            one = self.wrongs == 1
            parts.append("1 thing is wrong" if one else f"{self.wrongs} things are wrong")
        return " and ".join(parts)

    @property
    def _but(self) -> str:
        if not self.beside:
            return ""
        held = " where it has a limit" if self.verdict is Verdict.IN_SPEC else ""
        return f"{held}, but {self.beside}"


def conclude(verdict: Verdict, *, is_complete: bool, severities: Iterable[str]) -> Conclusion:
    """What a run comes to.

    Args:
        verdict: Over all its results.
        is_complete: Whether everything that could be asked was.
        severities: Of every flag that stands.
    """
    found = list(severities)
    return Conclusion(
        verdict, is_complete, found.count(Severity.STOP.value), found.count(Severity.WRONG.value)
    )
