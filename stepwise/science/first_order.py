"""One RC corner: its response, and its corner from one reading."""

from __future__ import annotations

import math

import numpy as np

from stepwise.science.domain import Number, positive, shaped_like


def first_order_highpass_db(f: Number, corner: float) -> Number:
    """Response of a first-order high-pass, far above its corner 0 dB.

    Args:
        f: Frequency [Hz], > 0, a float or an array.
        corner: Corner [Hz], > 0.

    Returns:
        Level [dB], shaped like `f`.

    Raises:
        ValueError: `corner` is not positive.

    Source:
        |H|^2 = 1 / (1 + (fc / f)^2), first-order RC.

    Example:
        >>> round(first_order_highpass_db(20.0, 20.0), 5)
        -3.0103
    """
    ratio = positive(corner, "corner") / np.asarray(f, dtype=np.float64)
    return shaped_like(f, -10.0 * np.log10(1.0 + ratio**2))


def first_order_lowpass_db(f: Number, corner: float) -> Number:
    """Response of a first-order low-pass, far below its corner 0 dB.

    Args:
        f: Frequency [Hz], >= 0, a float or an array.
        corner: Corner [Hz], > 0.

    Returns:
        Level [dB], shaped like `f`.

    Raises:
        ValueError: `corner` is not positive.

    Source:
        |H|^2 = 1 / (1 + (f / fc)^2), first-order RC.

    Example:
        >>> round(first_order_lowpass_db(20e3, 20e3), 5)
        -3.0103
    """
    ratio = np.asarray(f, dtype=np.float64) / positive(corner, "corner")
    return shaped_like(f, -10.0 * np.log10(1.0 + ratio**2))


def corner_for_drop(frequency_hertz: float, drop_db: float) -> float:
    """High-pass corner at which the response at a band edge is down by a given amount.

    The highest corner that keeps the drop at `frequency_hertz` within `drop_db`.

    Args:
        frequency_hertz: Band edge [Hz], > 0.
        drop_db: Permitted drop at the edge [dB], > 0.

    Returns:
        Corner [Hz].

    Raises:
        ValueError: A value is not positive.

    Source:
        fc = f sqrt(10^(d / 10) - 1), from the first-order response.

    Example:
        >>> round(corner_for_drop(20.0, 0.5), 5)
        6.98623
    """
    return positive(frequency_hertz, "frequency_hertz") * _corner_factor(drop_db)


def corner_from_reading_low(f: float, level_db: float) -> float:
    """First-order high-pass corner from one level below the band.

    Args:
        f: Frequency of the reading [Hz], > 0.
        level_db: Level there [dB re the middle of the band], < 0.

    Returns:
        Corner [Hz].

    Raises:
        ValueError: `f` is not positive, or the level is not below 0 dB.

    Source:
        fc = f sqrt(10^(-L / 10) - 1), from the first-order response.

    Example:
        >>> round(corner_from_reading_low(20.0, -1.5), 4)
        12.8458
    """
    return positive(f, "f") * _corner_factor(-level_db)


def corner_from_reading_high(f: float, level_db: float) -> float:
    """First-order low-pass corner from one level above the band.

    Args:
        f: Frequency of the reading [Hz], > 0.
        level_db: Level there [dB re the middle of the band], < 0.

    Returns:
        Corner [Hz].

    Raises:
        ValueError: `f` is not positive, or the level is not below 0 dB.

    Source:
        fc = f / sqrt(10^(-L / 10) - 1), from the first-order response.

    Example:
        >>> round(corner_from_reading_high(20e3, -1.0), 1)
        39304.5
    """
    return positive(f, "f") / _corner_factor(-level_db)


def _corner_factor(drop_db: float) -> float:
    """Corner over frequency of a first-order high-pass that is `drop_db` down."""
    return math.sqrt(math.expm1(positive(drop_db, "drop below 0 dB") * math.log(10.0) / 10.0))
