"""A row of levels: what was read, what is still to come, and sums that carry uncertainty."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from stepwise.quantities import Uncertain, from_terms

Side = Literal["low", "high"]

_WIDE_GAP = math.sqrt(10.0)
"""Two readings further apart than this, half a decade, tell nothing of what lies between while
readings between them are still to come, and never how steep the response is there."""


@dataclass(frozen=True, slots=True)
class LevelPoint:
    """One level of a sweep."""

    hertz: float
    level: Uncertain
    """[dB]"""
    key: str = ""
    """Key of its prompt; empty for the reference, which is 0 dB by definition."""
    text: str = ""
    """The frequency as the procedure writes it."""
    shown: float = 0.0
    """What the meter showed [dB], before the bench's own response was taken off."""


@dataclass(frozen=True, slots=True)
class Response:
    """Levels in the order of their frequencies."""

    points: tuple[LevelPoint, ...]
    """Those read, ascending."""
    reference: float
    """[Hz]"""
    band: tuple[float, float] | None
    """[Hz]"""
    awaited: tuple[float, ...] = ()
    """Frequencies that are planned and have no answer yet [Hz]."""

    def with_reference(self) -> tuple[LevelPoint, ...]:
        """All points with the reference itself: 0 dB there is what the levels mean."""
        if any(point.hertz == self.reference for point in self.points):
            return self.points
        reference = LevelPoint(self.reference, Uncertain(0.0))
        return tuple(sorted((*self.points, reference), key=lambda point: point.hertz))

    def outwards(
        self, side: Side, without: frozenset[float] = frozenset()
    ) -> tuple[LevelPoint, ...]:
        """From the reference outwards on one side.

        Args:
            side: Which way.
            without: Frequencies to leave out [Hz].
        """
        points = [point for point in self.with_reference() if point.hertz not in without]
        if side == "low":
            return tuple(point for point in reversed(points) if point.hertz <= self.reference)
        return tuple(point for point in points if point.hertz >= self.reference)

    def is_open(self, first: LevelPoint, second: LevelPoint) -> bool:
        """Whether what lies between two neighbours is still to be read."""
        low, high = sorted((first.hertz, second.hertz))
        return is_wide(first, second) and self.awaits(low, high)

    def awaits(self, low: float, high: float) -> bool:
        """Whether a frequency strictly between two others [Hz] is still to be read."""
        return any(low < hertz < high for hertz in self.awaited)

    def keys(self, points: Iterable[LevelPoint] | None = None) -> tuple[str, ...]:
        """Keys of the prompts of some points, by default of all, by rising frequency."""
        chosen = sorted(self.points if points is None else points, key=lambda point: point.hertz)
        return tuple(point.key for point in chosen if point.key)


def is_wide(first: LevelPoint, second: LevelPoint) -> bool:
    """Whether two readings lie more than half a decade apart."""
    return max(first.hertz, second.hertz) > _WIDE_GAP * min(first.hertz, second.hertz)


def weighted(value: float, parts: Iterable[tuple[float, Uncertain]]) -> Uncertain:
    """A value with the uncertainty of what it hangs on.

    Args:
        value: The estimate.
        parts: How much the value changes by each input, and the input.

    Source:
        JCGM 100:2008, 5.2.2: terms of one source add before they are squared.
    """
    return from_terms(
        value,
        ((source, slope * term) for slope, each in parts for source, term in each.terms.items()),
    )


def with_doubt(measure: Uncertain, source: str, standard: float) -> Uncertain:
    """The same value with one more, independent standard uncertainty."""
    return from_terms(measure.value, [*measure.terms.items(), (source, standard)])
