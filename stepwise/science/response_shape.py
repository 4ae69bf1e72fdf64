"""Shape of a response without a model: how steeply its ends fall, and where it peaks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, positive, positive_array
from stepwise.science.response import Side


@dataclass(frozen=True, slots=True)
class Peak:
    """A hump of a response above its reference."""

    hertz: float
    """Frequency of its outermost point [Hz]."""
    level_db: float
    """Level there [dB re the reference]."""
    prominence_db: float
    """How far it stands out from the higher of its two feet [dB], >= 0."""


def end_slope(
    frequencies: ArrayLike, levels_db: ArrayLike, side: Side, span_octaves: float = 1.0
) -> float:
    """Steepness of a response at one end: a straight line through its outermost points.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0, n >= 2.
        levels_db: Levels there [dB re the reference], shape (n,).
        side: Which end, "low" or "high".
        span_octaves: How far from the end points count [1], > 0, default one octave; at least
            two points count in any case.

    Returns:
        Slope going outwards [dB per octave]: -6 far out at a first-order end.

    Raises:
        ValueError: Fewer than two different frequencies, or values that are not usable.

    Source:
        Linear regression over the binary logarithm of frequency.

    Example:
        >>> round(end_slope([10.0, 20.0, 1000.0], [-12.0, -6.0, 0.0], "low"), 6)
        -6.0
    """
    hertz, levels = _ordered_points(frequencies, levels_db)
    return float(end_slope_weights(hertz, side, span_octaves) @ levels)


def end_slope_weights(frequencies: ArrayLike, side: Side, span_octaves: float = 1.0) -> FloatArray:
    """What each level adds to the steepness of one end: a slope is linear in the levels.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0, n >= 2.
        side: Which end, "low" or "high".
        span_octaves: How far from the end points count [1], > 0, default one octave; at least
            two points count in any case.

    Returns:
        Weights [1/octave], shape (n,), as given; 0 for points that do not count.

    Raises:
        ValueError: Fewer than two different frequencies, or values that are not usable.

    Source:
        Linear regression over the binary logarithm of frequency.

    Example:
        >>> end_slope_weights([1000.0, 10.0, 20.0], "low").tolist()
        [0.0, 1.0, -1.0]
    """
    hertz = np.atleast_1d(positive_array(frequencies, "frequencies"))
    outermost = hertz.min() if side == "low" else hertz.max()
    octaves = np.abs(np.log2(hertz / outermost))
    # Frequencies are rounded: what is meant as an octave may be a little more.
    near = int(np.count_nonzero(octaves <= positive(span_octaves, "span_octaves") * 1.02))
    used = np.argsort(octaves, kind="stable")[: max(near, 2)]
    spread = octaves[used] - octaves[used].mean()
    if used.size < 2 or not spread.any():
        raise ValueError("a slope needs two different frequencies")
    weights = np.zeros_like(hertz)
    weights[used] = -spread / float(spread @ spread)
    return weights


def response_peaks(
    frequencies: ArrayLike, levels_db: ArrayLike, prominence_db: float = 0.5
) -> tuple[Peak, ...]:
    """Humps that stand out of a response above its reference.

    What lies below 0 dB counts as 0 dB, so that the roll-off beside a hump does not add to it.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0.
        levels_db: Levels there [dB re the reference], shape (n,).
        prominence_db: Least height over the higher of its two feet [dB], > 0, default 0.5.

    Returns:
        The humps, rising in frequency. The outermost points are none: whether a response goes
        on rising there is not known.

    Raises:
        ValueError: Values that are not usable.

    Source:
        Topographic prominence over 0 dB, common practice.

    Example:
        >>> response_peaks([1e3, 1e4, 2e4, 4e4], [0.0, 0.2, 3.0, -6.0])[0].hertz
        20000.0
    """
    least = positive(prominence_db, "prominence_db")
    hertz, given = _ordered_points(frequencies, levels_db)
    levels = np.maximum(given, 0.0)
    found = []
    for place in range(1, hertz.size - 1):
        level = levels[place]
        # of two equal neighbours the first is the top
        if not (levels[place - 1] < level >= levels[place + 1]):
            continue
        feet = (_foot(levels[place::-1]), _foot(levels[place:]))
        prominence = float(level - max(feet))
        if prominence >= least:
            found.append(Peak(float(hertz[place]), float(level), prominence))
    return tuple(found)


def _foot(walk: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    """Lowest level on the way from a top to something higher, or to the end."""
    higher = np.flatnonzero(walk > walk[0])
    stretch = walk[: int(higher[0])] if higher.size else walk
    return float(stretch.min())


def _ordered_points(frequencies: ArrayLike, levels_db: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Frequencies [Hz] and levels [dB], rising in frequency."""
    hertz = np.atleast_1d(positive_array(frequencies, "frequencies"))
    levels = np.atleast_1d(np.asarray(levels_db, dtype=np.float64))
    if hertz.ndim != 1 or hertz.shape != levels.shape or hertz.size == 0:
        raise ValueError("frequencies and levels_db must be two rows of the same length")
    if not np.isfinite(levels).all():
        raise ValueError("levels_db must be finite numbers")
    order = np.argsort(hertz, kind="stable")
    return hertz[order], levels[order]
