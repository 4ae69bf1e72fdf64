"""What a row of levels will read: from its neighbours, and from the other channel."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stepwise.errors import StepwiseError
from stepwise.judge.findings import Result
from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.plausible import Plausible
from stepwise.quantities import format_estimate, format_value, require

_STEEPEST = 14.0
"""[dB an octave] Faster than this no amplifier falls between two points (common practice)."""
_RISE = 3.0
"""[dB] An end of the row that stands higher than this was hardly read right."""
_ALIKE = 1.2
_APART = 3.0
"""[dB] What two channels of one board may differ by before it is odd."""

Point = tuple[float, Result]


def levels(asked: Asked) -> Iterator[Plausible]:
    """A level of a sweep."""
    if asked.hertz is None:
        return
    yield from other_channels(asked)
    yield from _from_neighbours(asked, asked.hertz)


def other_channels(asked: Asked) -> Iterator[Plausible]:
    """The same point of the row, as it was on the other channels."""
    for other in asked.elsewhere("level_db"):
        if other.point == asked.point:
            told = f"the {format_estimate(other.measure, 'dB')} of the {other.channel} channel"
            yield _around(other.value, _ALIKE, _APART, told)


def row(asked: Asked, channel: str | None) -> list[Point]:
    """The points of a channel's row that were read, by frequency."""
    read = []
    for result in asked.readings("level_db", step=asked.step, channel=channel):
        hertz = point_hertz(result.point)
        if hertz is not None:
            read.append((hertz, result))
    return sorted(read, key=lambda point: point[0])


def point_hertz(point: str | None) -> float | None:
    """Frequency that a point of a row is called by [Hz]."""
    try:
        return require(point or "", "Hz")
    except StepwiseError:
        return None


def _around(centre: float, near: float, sure: float, words: str) -> Plausible:
    return Plausible(centre, (centre - near, centre + near), (centre - sure, centre + sure), words)


def _from_neighbours(asked: Asked, hertz: float) -> Iterator[Plausible]:
    known = [(each, result.value) for each, result in row(asked, asked.channel)]
    reference = (asked.reference_hertz, 0.0)
    known = sorted([*(point for point in known if point[0] != hertz), reference])
    below = [point for point in known if point[0] < hertz]
    above = [point for point in known if point[0] > hertz]
    if below and above and len(known) > 1:
        yield _between(hertz, below[-1], above[0])
    elif below or above:
        yield _beyond(hertz, below[-1] if below else above[0], asked.reference_hertz)


def _between(hertz: float, below: tuple[float, float], above: tuple[float, float]) -> Plausible:
    """Between two points: between their levels, give or take what a hump or a dip makes."""
    low, high = sorted((below[1], above[1]))
    span = math.log(above[0] / below[0])
    share = math.log(hertz / below[0]) / span
    centre = below[1] + share * (above[1] - below[1])
    words = f"the {decibels(low)} and {decibels(high)} on either side"
    if decibels(low) == decibels(high):
        words = f"the {decibels(low)} on either side"
    return Plausible(centre, (low - 0.8, high + 0.8), (low - 3.0, high + 3.0), words)


def _beyond(hertz: float, nearest: tuple[float, float], reference_hertz: float) -> Plausible:
    """Past the last point of a row, where levels fall or stay."""
    octaves = abs(math.log2(hertz / nearest[0]))
    level = nearest[1]
    if nearest[0] == reference_hertz:
        words = "the 0 dB of the reference, and ends of a row do not rise"
    else:
        words = f"the {decibels(level)} at {format_value(nearest[0], 'Hz')}"
    lowest = level - _STEEPEST * octaves - 2.0
    falls = level - 0.25 * min(7.0 * octaves, 8.0)
    return Plausible(falls, (lowest, level + 0.5), (lowest - 6.0, level + _RISE), words)


def decibels(level: float) -> str:
    """A level as a sentence names it."""
    return format_value(level, "dB", digits=2) if abs(level) >= 0.05 else "0 dB"


def first_order_step(level_db: float, at: float, to: float, side: str) -> float:
    """Level at another frequency of the first-order slope that passes through a level.

    Args:
        level_db: Level there [dB], below 0.
        at: Frequency of that level [Hz].
        to: Frequency that is asked for [Hz].
        side: "low" for the lower end of a row, "high" for the upper one.

    Source:
        |H|^2 = 1 / (1 + (f_c / f)^2) and its mirror image, the first-order sections.
    """
    excess = 10.0 ** (-level_db / 10.0) - 1.0
    ratio = (at / to) ** 2 if side == "low" else (to / at) ** 2
    return -10.0 * math.log10(1.0 + excess * ratio)
