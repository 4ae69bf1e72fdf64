"""Where a response passes a level between two readings, along a curve of the shape expected."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from stepwise.science.domain import FloatArray, positive

_GRID = 33
_PASSES = 3
"""Grids within grids: the last cell is a 30 000th of the way between the readings."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """A frequency between two readings, and how it hangs on each of them."""

    hertz: float
    """[Hz]"""
    by_inner: float
    """Its change by the level of the first reading [Hz per dB]."""
    by_outer: float
    """Its change by the level of the second reading [Hz per dB]."""


def guided_crossing(
    inner: tuple[float, float],
    outer: tuple[float, float],
    drop_db: float,
    guide: Callable[[FloatArray], FloatArray],
) -> Crossing:
    """Frequency between two readings where a response has fallen by a given amount.

    The curve goes through both readings: it is the guide, and what the readings differ from it
    is interpolated linearly over the logarithm of frequency. A guide of the right shape leaves
    no error of interpolation, one of zeros makes it the straight line on a decade axis.

    Args:
        inner: Frequency [Hz] and level [dB] of the reading that is not yet so low.
        outer: The same of the next one outwards, which is.
        drop_db: Fall to look for, below 0 dB [dB], > 0.
        guide: Level of the shape expected [dB] at frequencies [Hz], shape (n,).

    Returns:
        The first such frequency on the way from `inner` to `outer`.

    Raises:
        ValueError: The level is not passed between the readings.

    Source:
        Interpolation of the residual of a model, common practice, no source.

    Example:
        >>> round(guided_crossing((100.0, 0.0), (10.0, -6.0), 3.0, lambda f: 0.0 * f).hertz, 4)
        31.6228
    """
    target = -positive(drop_db, "drop_db")
    if not inner[1] > target >= outer[1]:
        raise ValueError(f"the readings do not pass {target:g} dB")
    start, span = math.log(inner[0]), math.log(outer[0] / inner[0])
    left_over = np.array([inner[1], outer[1]]) - guide(np.array([inner[0], outer[0]]))

    def curve(share: FloatArray) -> FloatArray:
        residual = left_over[0] + share * (left_over[1] - left_over[0])
        level: FloatArray = guide(np.exp(start + share * span)) + residual
        return level

    low, high = 0.0, 1.0
    below, above = inner[1], outer[1]
    for _ in range(_PASSES):
        grid = np.linspace(low, high, _GRID)
        levels = curve(grid)
        # At the far end the curve is the reading itself, whatever rounding says.
        levels[-1] = min(float(levels[-1]), target)
        place = max(int(np.argmax(levels <= target)), 1)
        low, high = float(grid[place - 1]), float(grid[place])
        below, above = float(levels[place - 1]), float(levels[place])
    steepness = (above - below) / (high - low)
    if steepness == 0.0:
        raise ValueError("the response does not fall there")
    share = low + (target - below) / steepness
    hertz = math.exp(start + share * span)
    by_share = -hertz * span / steepness
    return Crossing(hertz, by_share * (1.0 - share), by_share * share)
