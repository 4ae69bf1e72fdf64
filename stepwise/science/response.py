"""What the levels of a response are counted from, its two ends, and its points in order.

Levels are in dB, 0 dB at the reference. The low end lies below it, the high end above.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, positive_array

REFERENCE_HERTZ = 1000.0
"""Standard reference frequency of amplifier measurements, IEC 60268-3 (from memory)."""

Side = Literal["low", "high"]
"""One end of the frequency range."""


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
