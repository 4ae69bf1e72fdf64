"""Frequency response from a handful of points: where it falls, how flat it is.

Levels are in dB, 0 dB at the *reference*: the point nearest 1 kHz on a logarithmic scale.
"Outwards" is away from it, towards lower (`"low"`) or higher (`"high"`) frequencies.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, finite, positive, positive_array

REFERENCE_HERTZ = 1000.0
"""Standard reference frequency of amplifier measurements, IEC 60268-3 (from memory)."""

Side = Literal["low", "high"]
"""One end of the frequency range."""

_EDGE_TOLERANCE = 1e-9
"""Relative; a band edge computed from a nominal frequency must still count as inside."""


def ordered_points(frequencies: ArrayLike, levels_db: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Points of a sweep in order of frequency.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0.
        levels_db: Levels at these frequencies [dB], shape (n,).

    Returns:
        Frequencies [Hz] and levels [dB], rising in frequency.

    Raises:
        ValueError: No point, shapes that differ, or a value that is not finite.

    Source:
        None: only an order.
    """
    hertz = np.atleast_1d(positive_array(frequencies, "frequencies"))
    levels = np.atleast_1d(np.asarray(levels_db, dtype=np.float64))
    if hertz.ndim != 1 or hertz.shape != levels.shape or hertz.size == 0:
        raise ValueError("frequencies and levels_db must be two rows of the same length")
    if not np.isfinite(levels).all():
        raise ValueError("levels_db must be finite numbers")
    order = np.argsort(hertz, kind="stable")
    return hertz[order], levels[order]


def reference_index(frequencies: FloatArray) -> int:
    """Which point is the reference.

    Args:
        frequencies: Frequencies in rising order [Hz], shape (n,).

    Returns:
        Index of the point nearest 1 kHz on a logarithmic scale [1].

    Source:
        Levels of a sweep are counted from 1 kHz, IEC 60268-3 (from memory).
    """
    return int(np.argmin(np.abs(np.log(frequencies / REFERENCE_HERTZ))))


def crossing_hertz(
    frequencies: ArrayLike, levels_db: ArrayLike, drop_db: float, side: Side
) -> float | None:
    """Frequency where a response has fallen by a given amount.

    Walks outwards from the reference and stops at the first fall, so that a later recovery
    does not hide it; interpolates linearly in dB over the logarithm of frequency.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0.
        levels_db: Levels at these frequencies [dB re the reference], shape (n,).
        drop_db: Fall to look for, below 0 dB [dB], > 0: 3 means the -3 dB point.
        side: Which way to walk, "low" or "high".

    Returns:
        Frequency [Hz], or None when the response never falls that far within the points. The
        reference frequency itself when the reference already lies lower.

    Raises:
        ValueError: The points are not usable, `drop_db` is not positive, or `side` is neither
            "low" nor "high".

    Source:
        Linear interpolation on a decade axis, common practice, no source.

    Example:
        >>> round(crossing_hertz([10.0, 100.0, 1000.0], [-6.0, 0.0, 0.0], 3.0, "low"), 4)
        31.6228
    """
    if side not in ("low", "high"):
        raise ValueError(f'side must be "low" or "high", got {side!r}')
    target = -positive(drop_db, "drop_db")
    hertz, levels = ordered_points(frequencies, levels_db)
    start = reference_index(hertz)
    walk = slice(start, None, -1) if side == "low" else slice(start, None)
    log_hertz, walked = np.log(hertz[walk]), levels[walk]
    below = np.flatnonzero(walked <= target)
    if below.size == 0:
        return None
    last = int(below[0])
    if last == 0:
        return float(hertz[start])
    share = (walked[last - 1] - target) / (walked[last - 1] - walked[last])
    return math.exp(log_hertz[last - 1] + share * (log_hertz[last] - log_hertz[last - 1]))


def flatness_db(
    frequencies: ArrayLike, levels_db: ArrayLike, low_hz: float, high_hz: float
) -> float:
    """Largest deviation from 0 dB among the points of a band.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0.
        levels_db: Levels at these frequencies [dB re the reference], shape (n,).
        low_hz: Lower edge of the band, which belongs to it [Hz], > 0.
        high_hz: Upper edge of the band, which belongs to it [Hz], >= `low_hz`.

    Returns:
        Largest magnitude of a level in the band [dB], >= 0.

    Raises:
        ValueError: No point lies in the band, or the points are not usable.

    Source:
        Gain-limited effective frequency range read the other way, IEC 60268-3 (from memory).

    Example:
        >>> flatness_db([10.0, 100.0, 1000.0], [-6.0, 0.5, 0.0], 50.0, 2000.0)
        0.5
    """
    hertz, levels = ordered_points(frequencies, levels_db)
    low = positive(low_hz, "low_hz") * (1.0 - _EDGE_TOLERANCE)
    high = positive(high_hz, "high_hz") * (1.0 + _EDGE_TOLERANCE)
    inside = levels[(hertz >= low) & (hertz <= high)]
    if inside.size == 0:
        raise ValueError(f"no point lies between {low_hz:g} and {high_hz:g} Hz")
    return float(np.max(np.abs(inside)))


def coupling_capacitance(corner_hertz: float, resistance_ohms: float) -> float:
    """Capacitor that makes a corner with a resistance in series.

    Args:
        corner_hertz: Corner [Hz], > 0.
        resistance_ohms: Resistance that the capacitor sees [ohm], > 0.

    Returns:
        Capacitance [F].

    Raises:
        ValueError: A value is not positive.

    Source:
        C = 1 / (2 pi R f), first-order RC.

    Example:
        >>> round(coupling_capacitance(10.0, 8.0) * 1e6, 2)
        1989.44
    """
    product = positive(corner_hertz, "corner_hertz") * positive(resistance_ohms, "resistance_ohms")
    return 1.0 / (2.0 * math.pi * product)


def corner_for_capacitance(capacitance_farads: float, resistance_ohms: float) -> float:
    """Corner of a capacitor and the resistance that it sees.

    Args:
        capacitance_farads: Capacitance [F], > 0.
        resistance_ohms: Resistance that the capacitor sees [ohm], > 0.

    Returns:
        Corner [Hz].

    Raises:
        ValueError: A value is not positive.

    Source:
        f = 1 / (2 pi R C), first-order RC.

    Example:
        >>> round(corner_for_capacitance(1000e-6, 8.0), 4)
        19.8944
    """
    product = positive(capacitance_farads, "capacitance_farads") * positive(
        resistance_ohms, "resistance_ohms"
    )
    return 1.0 / (2.0 * math.pi * product)


def slope_db_per_octave(level_db: float, other_db: float, octaves: float) -> float:
    """Steepness between two points of a response.

    Args:
        level_db: Level at the first frequency [dB].
        other_db: Level at the second frequency [dB].
        octaves: Binary logarithm of second over first frequency [1], not zero.

    Returns:
        Slope [dB per octave], positive when the level rises with frequency.

    Raises:
        ValueError: `octaves` is zero or a value is not finite.

    Source:
        Difference quotient over the logarithm of frequency.

    Example:
        >>> slope_db_per_octave(-12.0, -6.0, 1.0)
        6.0
    """
    if finite(octaves, "octaves") == 0.0:
        raise ValueError("octaves is zero: two points at one frequency have no slope")
    return (finite(other_db, "other_db") - finite(level_db, "level_db")) / float(octaves)
