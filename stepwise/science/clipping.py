"""A sine with its tops cut off: distortion, power, and what a meter makes of it.

*Overdrive* is the peak that the sine would have without clipping over the clip level, 1 where
clipping begins. THD is harmonics over the *fundamental* unless a name says otherwise. Hard
clipping from stiff rails; a supply that sags gives less power at a given distortion.
"""

from __future__ import annotations

import math

import numpy as np

from stepwise.science.domain import FloatArray, finite, not_negative, positive

SINE_FORM_FACTOR = math.pi / (2.0 * math.sqrt(2.0))
"""RMS over rectified mean of a sine [1]: what an average-responding meter's scale assumes."""

AVERAGE_METER_ON_NOISE = 0.5 * math.sqrt(math.pi)
"""What an average-responding meter shows of Gaussian noise over its RMS [1], -1.05 dB: the mean of
|x| is sqrt(2 / pi) of its deviation, times `SINE_FORM_FACTOR`. Textbook (from memory)."""

THD_OF_SQUARE_PERCENT = 100.0 * math.sqrt(math.pi**2 / 8.0 - 1.0)
"""Distortion of a square wave [%], 48.34: the limit of hard clipping."""


def clipped_mean_square(overdrive: float, negative_limit: float = 1.0) -> float:
    """Mean square of a hard-clipped sine over the square of its positive clip level.

    Args:
        overdrive: Unclipped peak over the positive clip level [1], > 0.
        negative_limit: Negative clip level over the positive one [1], > 0; 1 (default) for
            symmetrical clipping, infinite when the negative side is free.

    Returns:
        Mean square [1]; 0.5 where clipping begins, 1 for a square wave.

    Raises:
        ValueError: A value is not positive.

    Source:
        Integral of the clipped sine over a period, own derivation.

    Example:
        >>> round(clipped_mean_square(2.0), 6)
        0.782004
    """
    drive = positive(overdrive, "overdrive")
    lost = _lost_mean_square(drive, 1.0) + _lost_mean_square(drive, negative_limit)
    return 0.5 * drive * drive - lost


def clipped_harmonics(
    overdrive: float, highest: int = 9, negative_limit: float = 1.0
) -> FloatArray:
    """Harmonics of a hard-clipped sine over its positive clip level.

    Args:
        overdrive: Unclipped peak over the positive clip level [1], > 0.
        highest: Order of the last harmonic wanted [1], >= 1, default 9.
        negative_limit: Negative clip level over the positive one [1], > 0; 1 (default) for
            symmetrical clipping, infinite when the negative side is free.

    Returns:
        Peak amplitudes [1], shape (highest + 1,): index 0 is the mean, index 1 the
        fundamental; signed as a cosine series about the positive crest.

    Raises:
        ValueError: A value is not positive, or `highest` < 1.

    Source:
        Fourier series of the parts cut off, own derivation; for symmetrical clipping it is the
        saturation describing function.

    Example:
        >>> round(float(clipped_harmonics(2.0)[1]), 5)
        1.218
    """
    if highest < 1:
        raise ValueError(f"highest must be at least 1, got {highest!r}")
    drive = positive(overdrive, "overdrive")
    alternating = (-1.0) ** np.arange(highest + 1)
    series = -_cap_harmonics(drive, 1.0, highest)
    series += alternating * _cap_harmonics(drive, negative_limit, highest)
    series[1] += drive
    return series


def thd_for_overdrive(overdrive: float, negative_limit: float = 1.0) -> float:
    """Total harmonic distortion of a hard-clipped sine, over the fundamental.

    Args:
        overdrive: Unclipped peak over the positive clip level [1], > 0; up to 1 is clean.
        negative_limit: Negative clip level over the positive one [1], > 0; 1 (default) for
            symmetrical clipping, infinite when the negative side is free.

    Returns:
        Distortion [%].

    Raises:
        ValueError: A value is not positive.

    Source:
        sqrt(2 U^2 / b1^2 - 1), own derivation; sums all harmonics, without any mean.

    Example:
        >>> round(thd_for_overdrive(1.25), 5)
        8.97858
    """
    mean, fundamental = clipped_harmonics(overdrive, 1, negative_limit)
    alternating = clipped_mean_square(overdrive, negative_limit) - mean * mean
    square = 2.0 * alternating / (fundamental * fundamental) - 1.0
    # the difference of two nearly equal numbers: a clean sine may come out at -1e-16
    return float(100.0 * math.sqrt(max(0.0, square)))


def overdrive_for_thd(thd_percent: float) -> float:
    """Overdrive at which symmetrical hard clipping gives a distortion.

    Args:
        thd_percent: Total harmonic distortion over the fundamental [%], >= 0, below 48.34.

    Returns:
        Unclipped peak over the clip level [1], >= 1.

    Raises:
        ValueError: The distortion is negative, or as much as that of a square wave.

    Source:
        The inverse of `thd_for_overdrive`, by bisection.

    Example:
        >>> round(overdrive_for_thd(10.0), 5)
        1.28427
    """
    wanted = not_negative(thd_percent, "thd_percent")
    if wanted >= THD_OF_SQUARE_PERCENT:
        raise ValueError("a clipped sine stays below 48.34 % distortion, that of a square wave")
    if wanted == 0.0:
        return 1.0
    low, high = 1.0, 2.0
    while thd_for_overdrive(high) < wanted:
        low, high = high, 2.0 * high
    while True:
        middle = 0.5 * (low + high)
        if middle in (low, high):
            return middle
        if thd_for_overdrive(middle) < wanted:
            low = middle
        else:
            high = middle


def power_ratio_for_overdrive(overdrive: float) -> float:
    """Power of a symmetrically clipped sine over the power where clipping begins.

    Args:
        overdrive: Unclipped peak over the clip level [1], > 0.

    Returns:
        Power ratio [1], harmonics included; 2 for a square wave.

    Raises:
        ValueError: `overdrive` is not positive.

    Source:
        2 U^2, own derivation.

    Example:
        >>> round(power_ratio_for_overdrive(2.0), 5)
        1.56401
    """
    return 2.0 * clipped_mean_square(overdrive)


def power_ratio_for_thd(thd_percent: float, reference_percent: float = 0.0) -> float:
    """Power at one distortion over the power at another, with stiff rails.

    Args:
        thd_percent: Distortion at which the power is claimed [%], >= 0, below 48.34.
        reference_percent: Distortion to compare with [%], default 0: where clipping begins.

    Returns:
        Power ratio [1]; 1.288 for 10 % against the beginning.

    Raises:
        ValueError: A distortion is negative, or as much as that of a square wave.

    Source:
        Ratio of `power_ratio_for_overdrive`.

    Example:
        >>> round(power_ratio_for_thd(10.0), 5)
        1.28776
    """
    here = power_ratio_for_overdrive(overdrive_for_thd(thd_percent))
    return here / power_ratio_for_overdrive(overdrive_for_thd(reference_percent))


def average_meter_reading(overdrive: float, clip_volts: float = 1.0) -> float:
    """What an average-responding meter shows for a symmetrically clipped sine.

    Such a meter rectifies, averages and multiplies by 1.1107, right for a pure sine only.

    Args:
        overdrive: Unclipped peak over the clip level [1], > 0.
        clip_volts: Clip level [V peak], default 1.

    Returns:
        Reading [V "RMS"].

    Raises:
        ValueError: `overdrive` is not positive or the level is not finite.

    Source:
        1.1107 (2 / pi)(A (1 - cos t) + pi/2 - t) with sin t = 1 / A, own derivation.

    Example:
        >>> round(average_meter_reading(2.0), 6)
        0.929949
    """
    drive = positive(overdrive, "overdrive")
    angle = math.asin(min(1.0, 1.0 / drive))
    mean = drive * (1.0 - math.cos(angle)) + math.pi / 2.0 - angle
    level = finite(clip_volts, "clip_volts")
    return level * SINE_FORM_FACTOR * mean * 2.0 / math.pi


def _half_angle(overdrive: float, limit: float) -> float:
    """Half of the angle [rad] over which the sine is beyond a limit."""
    if not limit > 0.0:
        raise ValueError(f"negative_limit must be positive, got {limit!r}")
    return math.acos(min(1.0, limit / overdrive))


def _lost_mean_square(overdrive: float, limit: float) -> float:
    """What one side's clipping takes from the mean square."""
    angle = _half_angle(overdrive, limit)
    if angle == 0.0:
        return 0.0
    whole = overdrive**2 * (angle / 2.0 + math.sin(2.0 * angle) / 4.0)
    return (whole - limit**2 * angle) / math.pi


def _cap_harmonics(overdrive: float, limit: float, highest: int) -> FloatArray:
    """Cosine series, about its crest, of the cap that one side's clipping cuts off."""
    angle = _half_angle(overdrive, limit)
    series = np.zeros(highest + 1)
    if angle == 0.0:
        return series
    order = np.arange(2, highest + 1)
    below = np.sin((order - 1) * angle) / (order - 1)
    above = np.sin((order + 1) * angle) / (order + 1)
    series[0] = (overdrive * math.sin(angle) - limit * angle) / math.pi
    series[1] = (overdrive * angle - limit * math.sin(angle)) / math.pi
    series[2:] = overdrive * (below + above) - 2.0 * limit * np.sin(order * angle) / order
    series[2:] /= math.pi
    return series
