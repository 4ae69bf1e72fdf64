"""A response described by a few numbers, with what they are worth and what else would do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stepwise.science.domain import FloatArray, Number, shaped_like
from stepwise.science.response_model import EndOfResponse, end_level_db


@dataclass(frozen=True, slots=True)
class Rival:
    """Another model that the points do not rule out."""

    low: EndOfResponse
    """Its low end, without uncertainties."""
    high: EndOfResponse
    """Its high end, without uncertainties."""
    weight: float
    """Its share of the evidence, of all models tried [1]."""


@dataclass(frozen=True, slots=True, eq=False)
class ResponseFit:
    """A response described by a few numbers."""

    low: EndOfResponse
    """The low end."""
    high: EndOfResponse
    """The high end."""
    offset_db: float
    """Level of the flat middle [dB re the reference reading]."""
    covariance: FloatArray
    """Covariance of offset [dB] and, for each end in turn, ln(corner) and ln(Q) [1]."""
    sensitivity: FloatArray
    """Change of each of these by each given level [per dB], shape (k, n); 0 for outliers."""
    chi_square: float
    """Sum of squared residuals over their standard uncertainties [1], without the outliers."""
    freedom: int
    """Points used less parameters [1]."""
    aicc: float
    """Corrected Akaike criterion of the chosen model [1]."""
    residuals: FloatArray
    """Reading less model over its standard uncertainty [1], shape (n,), as given."""
    outliers: tuple[int, ...]
    """Which of the given points the model cannot explain, worst first [1]."""
    rivals: tuple[Rival, ...] = ()
    """The other models that the points support, best first."""

    def level_db(self, f: Number) -> Number:
        """Level of the fitted response [dB re the reference reading] at `f` [Hz]."""
        hertz = np.asarray(f, dtype=np.float64)
        level = self.offset_db + end_level_db(hertz, self.low, "low")
        return shaped_like(f, level + end_level_db(hertz, self.high, "high"))
