"""Total harmonic distortion: from measured harmonics, and its two definitions.

THD over the *fundamental* and THD over the *total* differ: 10 % is 9.95 %. A function's name or
its first line says which.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from stepwise.science.domain import not_negative, positive


def thd_from_harmonics(fundamental: float, harmonics: Sequence[float]) -> float:
    """Total harmonic distortion from measured harmonics, over the fundamental.

    Args:
        fundamental: Amplitude of the fundamental [V], > 0.
        harmonics: Amplitudes of the second and higher harmonics [V], RMS or peak as the
            fundamental, shape (n,).

    Returns:
        Distortion [%].

    Raises:
        ValueError: `fundamental` is not positive.

    Source:
        sqrt(sum of squares) over the fundamental; IEV 702-08 in decibels.

    Example:
        >>> round(thd_from_harmonics(1.0, [0.1, 0.04, 0.02]), 4)
        10.9545
    """
    return 100.0 * math.hypot(*harmonics) / positive(fundamental, "fundamental")


def thd_of_total_percent(thd_percent: float) -> float:
    """Distortion over the total signal, from distortion over the fundamental.

    Args:
        thd_percent: Harmonics over the fundamental [%], >= 0.

    Returns:
        Harmonics over the total [%], the smaller figure.

    Raises:
        ValueError: `thd_percent` is negative.

    Source:
        r = f / sqrt(1 + f^2).

    Example:
        >>> round(thd_of_total_percent(10.0), 5)
        9.95037
    """
    share = not_negative(thd_percent, "thd_percent") / 100.0
    return 100.0 * share / math.sqrt(1.0 + share * share)
