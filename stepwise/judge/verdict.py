"""Verdicts: is it inside its limit, and how sure is that.

The probability that the true value lies inside the limit, given the reading and its
uncertainty, decides (JCGM 106:2012, 7: conformance probability, normal distribution).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from stepwise.judge.limit import Limit
from stepwise.quantities import Uncertain

SURE_INSIDE = 0.95
"""From this conformance probability up a value is in spec."""
SURE_OUTSIDE = 0.05
"""From this conformance probability down a value is out of spec."""


class Verdict(StrEnum):
    """What can be said of a reading or a result."""

    IN_SPEC = "in spec"
    OUT_OF_SPEC = "out of spec"
    TOO_CLOSE = "too close to call"
    NOTED = "noted"
    SKIPPED = "skipped"


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict with what it rests on."""

    verdict: Verdict
    probability: float | None = None
    """Probability that the true value is inside the limit [1]; None without a limit, and where
    nobody knows how far the value is off."""
    limit: Limit | None = None

    @property
    def words(self) -> str:
        """The verdict in words, wherever it is read: "too close to call, 43 % likely in spec"."""
        return f"{self.verdict}, {self.likely}" if self.likely else self.verdict.value

    @property
    def likely(self) -> str:
        """How likely it is in spec, where that is too close to call; else empty."""
        if self.verdict is not Verdict.TOO_CLOSE or self.probability is None:
            return ""
        return f"{self.probability * 100.0:.0f} % likely in spec"

    @property
    def remark(self) -> str:
        """One sentence on how far to trust it; empty where its probability says enough."""
        return _ON_ITS_DIGIT if self.limit is not None and self.probability is None else ""


_ON_ITS_DIGIT = (
    "No instrument is named for it: of the figure only the last digit is known, and the verdict "
    "rests on that"
)
NOTED = Judgement(Verdict.NOTED)


def conformance_probability(measure: Uncertain, limit: Limit) -> float:
    """Probability [1] that the true value is inside `limit`.

    Args:
        measure: The value with its uncertainty, unit of the limit.
        limit: One- or two-sided.

    Source:
        JCGM 106:2012, 7.2 and 7.3: the normal distribution between the two edges.
    """
    spread = measure.standard_uncertainty
    if not spread:
        inside_low = limit.low is None or measure.value >= limit.low
        inside_high = limit.high is None or measure.value <= limit.high
        return 1.0 if inside_low and inside_high else 0.0
    upper = 1.0 if limit.high is None else _phi((limit.high - measure.value) / spread)
    lower = 0.0 if limit.low is None else _phi((limit.low - measure.value) / spread)
    return min(1.0, max(0.0, upper - lower))


def judge(measure: Uncertain, limit: Limit | None) -> Judgement:
    """Hold a value against a limit.

    Args:
        measure: The value with its uncertainty.
        limit: The limit in the same unit; None where there is none.

    Returns:
        The verdict; where of the value only the last digit is known, the one that would hold if
        no more were to it, without a probability.
    """
    if limit is None:
        return NOTED
    probability = conformance_probability(measure, limit)
    if probability >= SURE_INSIDE:
        verdict = Verdict.IN_SPEC
    elif probability <= SURE_OUTSIDE:
        verdict = Verdict.OUT_OF_SPEC
    else:
        verdict = Verdict.TOO_CLOSE
    return Judgement(verdict, None if measure.is_least else probability, limit)


def overall(verdicts: list[Verdict]) -> Verdict:
    """The verdict over many: the worst that was found, `noted` where nothing had a limit."""
    for worst in (Verdict.OUT_OF_SPEC, Verdict.TOO_CLOSE, Verdict.IN_SPEC):
        if worst in verdicts:
            return worst
    return Verdict.NOTED


def _phi(z: float) -> float:
    """Standard normal distribution function, accurate in both tails."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))
