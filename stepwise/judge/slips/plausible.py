"""What a reading will be, before it is read: a value, how near it comes, and who says so."""

from __future__ import annotations

from dataclasses import dataclass

from stepwise.judge.findings import Result
from stepwise.quantities import format_estimate


@dataclass(frozen=True, slots=True)
class Plausible:
    """One prediction of a reading.

    `sure` is wide: honest meters and honest faulty boards read inside it. `near` is narrow: what
    was meant instead must lie there, or nothing is said.
    """

    centre: float
    near: tuple[float, float]
    sure: tuple[float, float]
    words: str
    """The end of "… is 2.8 times", "… lies 6 dB above": the value and its evidence."""
    is_bound: bool = False
    """It only says what cannot be: what lies within it is not likely for that."""

    def holds(self, value: float) -> bool:
        """Whether an honest reading may be this."""
        return self.sure[0] <= value <= self.sure[1]

    def fits(self, value: float) -> bool:
        """Whether what was meant may be this."""
        return self.near[0] <= value <= self.near[1]

    def distance(self, value: float) -> float:
        """How far from the centre, in half widths of `near`."""
        width = max(self.near[1] - self.near[0], abs(self.centre) * 1e-9, 1e-12) / 2.0
        return abs(value - self.centre) / width


def by_ratio(
    centre: float, near: tuple[float, float], sure: tuple[float, float], words: str
) -> Plausible:
    """A prediction whose bounds are shares of its centre, which may be negative.

    Args:
        centre: The value predicted, in the SI unit of the reading; not zero.
        near: Lower and upper share of it [1].
        sure: Lower and upper share of it [1].
        words: Who says so, value included.
    """
    return Plausible(centre, _bounds(centre, near), _bounds(centre, sure), words)


def _bounds(centre: float, shares: tuple[float, float]) -> tuple[float, float]:
    low, high = sorted(centre * share for share in shares)
    return low, high


def like(
    result: Result, share: float = 1.0, *, near: float = 1.1, sure: float = 1.5, words: str
) -> Plausible:
    """As another reading was, or a share of it, give or take a factor.

    Args:
        result: The other reading.
        share: What this one is of it [1].
        near: Factor within which what was meant lies [1].
        sure: Factor within which any honest reading lies [1].
        words: What the other reading is, without its value.
    """
    told = f"the {format_estimate(result.measure, result.unit)} {words}"
    return by_ratio(result.value * share, (1.0 / near, near), (1.0 / sure, sure), told)
