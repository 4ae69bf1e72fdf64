"""Where frequencies and levels lie on the picture of a sweep."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from stepwise.run import Curve

_STEPS = (1.0, 2.0, 3.0, 6.0, 10.0, 20.0)
"""Distances between lines of level [dB]."""
_LEAST_SPAN = 9.0
"""Span of levels [dB] below which a picture would make hills of nothing."""


@dataclass(frozen=True, slots=True)
class Axes:
    """A decade axis for frequency, a straight one for level, in dots."""

    across: int
    down: int
    low_hertz: float
    high_hertz: float
    bottom_db: float
    top_db: float

    def x(self, hertz: float) -> int:
        """Dot across for a frequency [Hz]."""
        span = math.log10(self.high_hertz / self.low_hertz)
        return round((self.across - 1) * math.log10(hertz / self.low_hertz) / span)

    def y(self, level_db: float) -> int:
        """Dot down for a level [dB]."""
        span = self.top_db - self.bottom_db
        return round((self.down - 1) * (self.top_db - level_db) / span)

    def decades(self) -> Iterator[tuple[float, bool]]:
        """Frequencies of the grid [Hz], and whether each is a whole decade."""
        power = math.floor(math.log10(self.low_hertz))
        while 10.0**power <= self.high_hertz:
            for digit in range(1, 10):
                hertz = digit * 10.0**power
                if self.low_hertz * 0.999 <= hertz <= self.high_hertz * 1.001:
                    yield hertz, digit == 1
            power += 1

    def levels(self) -> Iterator[float]:
        """Levels of the grid [dB], not more than there are rows for, but two at least.

        One number alone is no scale.
        """
        rows = max(2, self.down // 6)
        several = [each for each in _STEPS if self._count(each) >= 2]
        fitting = (each for each in several if self._count(each) <= rows)
        step = next(fitting, several[-1] if several else _STEPS[0])
        level = math.ceil(self.bottom_db / step) * step
        while level <= self.top_db + 1e-9:
            yield level
            level += step

    def _count(self, step: float) -> int:
        """How many multiples of a step lie within [dB]."""
        return math.floor(self.top_db / step + 1e-9) - math.ceil(self.bottom_db / step) + 1


def axes_for(curve: Curve, across: int, down: int) -> Axes:
    """Axes that hold the whole plan, everything read, and the limits.

    Args:
        curve: The sweep so far.
        across: Dots across, at least 2.
        down: Dots down, at least 2.
    """
    hertz = [*curve.planned, *curve.frequencies] or [20.0, 20e3]
    low, high = min(hertz), max(hertz)
    if high <= low * 1.01:
        low, high = low / 3.0, high * 3.0
    edges = [level for level in (curve.low_db, curve.high_db) if level is not None]
    levels = [*curve.levels_db, *edges, 0.0]
    top = max(levels) + 1.5
    bottom = min(min(levels) - 1.5, top - _LEAST_SPAN)
    return Axes(across, down, low, high, bottom, top)
