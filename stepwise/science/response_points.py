"""The readings of a sweep as a fit takes them: levels, what each is worth, what they share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray
from stepwise.science.response import REFERENCE_HERTZ

Orders = tuple[int, int]
"""Order of the low and of the high end [1], each from 0 to 2."""


@dataclass(frozen=True, slots=True, eq=False)
class ResponsePoints:
    """Levels of a sweep with their uncertainties."""

    hertz: FloatArray
    """[Hz], shape (n,)."""
    levels: FloatArray
    """[dB], shape (n,)."""
    standard: FloatArray
    """What each level alone is off by [dB], standard uncertainty, shape (n,)."""
    shared: FloatArray
    """What one standard uncertainty of each shared error does to the levels [dB], (m, n)."""
    reference_hertz: float
    """Between the two ends [Hz]."""

    def keep(self, kept: FloatArray) -> ResponsePoints:
        """These points alone; `kept` holds their places."""
        return ResponsePoints(
            self.hertz[kept],
            self.levels[kept],
            self.standard[kept],
            self.shared[:, kept],
            self.reference_hertz,
        )

    def highest_orders(self) -> Orders:
        """What the points of each end could tell at most: a corner takes two, a Q three."""
        low = int(np.count_nonzero(self.hertz < self.reference_hertz))
        high = int(np.count_nonzero(self.hertz > self.reference_hertz))
        return min(max(low - 1, 0), 2), min(max(high - 1, 0), 2)


def response_points(
    frequencies: ArrayLike,
    levels_db: ArrayLike,
    standard_db: ArrayLike,
    shared_db: ArrayLike | None = None,
    reference_hertz: float = REFERENCE_HERTZ,
) -> ResponsePoints:
    """Check the readings of a sweep.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0, n >= 4.
        levels_db: Levels there [dB re the reference reading], shape (n,).
        standard_db: Standard uncertainty of each level alone [dB], > 0, scalar or shape (n,).
        shared_db: Effect of each shared error on each level [dB], shape (m, n), default none.
        reference_hertz: A frequency between the two ends [Hz], > 0, default 1 kHz.

    Returns:
        The readings.

    Raises:
        ValueError: Fewer than four points, or values that are not usable.

    Source:
        None: only a check.
    """
    hertz = np.asarray(frequencies, dtype=np.float64)
    levels = np.asarray(levels_db, dtype=np.float64)
    if hertz.ndim != 1 or hertz.size < 4 or hertz.shape != levels.shape:
        raise ValueError("a response needs at least four frequencies with a level each")
    standard = np.broadcast_to(np.asarray(standard_db, dtype=np.float64), hertz.shape)
    if not (np.isfinite(hertz).all() and (hertz > 0.0).all()):
        raise ValueError("frequencies must be positive numbers")
    if not np.isfinite(levels).all():
        raise ValueError("levels_db must be finite numbers")
    if not (np.isfinite(standard).all() and (standard > 0.0).all()):
        raise ValueError("standard_db must be positive numbers")
    given = np.empty((0, hertz.size)) if shared_db is None else shared_db
    shared = np.asarray(given, dtype=np.float64).reshape(-1, hertz.size)
    if not np.isfinite(shared).all():
        raise ValueError("shared_db must be finite numbers")
    return ResponsePoints(hertz, levels, standard, shared, reference_hertz)
