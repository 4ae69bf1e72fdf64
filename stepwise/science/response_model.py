"""What a whole response may look like: a flat middle with a first- or second-order end each way.

A second-order end with a Q of at most one half is two separate first-order corners; that is
why two corners are no model of their own here. A high-pass is written in c / f and a low-pass
in f / c, so that one formula serves both ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from stepwise.science.domain import FloatArray, Number, shaped_like
from stepwise.science.response import Side

_DB = 10.0 / math.log(10.0)


@dataclass(frozen=True, slots=True)
class EndOfResponse:
    """How one end of a response falls."""

    order: int
    """0 where no fall is seen, 1 or 2 [1]."""
    corner_hertz: float | None = None
    """Corner of a first-order end, natural frequency of a second-order end [Hz]."""
    standard_corner_hertz: float | None = None
    """Its standard uncertainty [Hz]."""
    q: float | None = None
    """Quality factor of a second-order end [1]; 0.707 is maximally flat."""
    standard_q: float | None = None
    """Its standard uncertainty [1]."""

    @property
    def corners_hertz(self) -> tuple[float, ...]:
        """The separate real corners [Hz], rising; none where the end is resonant (Q > 1/2)."""
        if self.corner_hertz is None:
            return ()
        if self.q is None:
            return (self.corner_hertz,)
        if self.q > 0.5:
            return ()
        # c1 c2 = c^2 and c1 + c2 = c / Q
        half = 0.5 / self.q
        spread = half + math.sqrt(max(0.0, half * half - 1.0))
        return (self.corner_hertz / spread, self.corner_hertz * spread)


def end_level_db(f: Number, end: EndOfResponse, side: Side) -> Number:
    """Level that one end takes from a flat response.

    Args:
        f: Frequency [Hz], > 0, a float or an array.
        end: How that end falls.
        side: Which end it is, "low" or "high".

    Returns:
        Level [dB re the flat middle], shaped like `f`.

    Source:
        |H|^2 = 1 / (1 + w^2) and 1 / ((1 - w^2)^2 + w^2 / Q^2), w = c / f or f / c.

    Example:
        >>> round(end_level_db(20.0, EndOfResponse(2, 20.0, q=0.5), "low"), 4)
        -6.0206
    """
    hertz = np.asarray(f, dtype=np.float64)
    if end.corner_hertz is None:
        return shaped_like(f, np.zeros_like(hertz))
    square = ratio_squared(hertz, end.corner_hertz, side)
    if end.q is None:
        return shaped_like(f, -_DB * np.log1p(square))
    return shaped_like(f, -_DB * np.log((1.0 - square) ** 2 + square / end.q**2))


def ratio_squared(hertz: FloatArray, corner_hertz: float, side: Side) -> FloatArray:
    """Square of corner over frequency at the low end, of frequency over corner at the high.

    Args:
        hertz: Frequencies [Hz], shape (n,), each > 0.
        corner_hertz: Corner [Hz], > 0.
        side: Which end it is, "low" or "high".

    Returns:
        Ratio squared [1], shape (n,).

    Source:
        None: a definition.
    """
    ratio = corner_hertz / hertz if side == "low" else hertz / corner_hertz
    return np.square(ratio)


def end_and_slopes(
    hertz: FloatArray, parameters: FloatArray, side: Side
) -> tuple[FloatArray, FloatArray]:
    """Level of one end and its derivatives by the logarithms of corner and Q.

    Args:
        hertz: Frequencies [Hz], shape (n,), each > 0.
        parameters: ln(corner in Hz) and, for a second-order end, ln(Q) [1]; shape (k,) with k
            from 0 (no end) to 2.
        side: Which end it is, "low" or "high".

    Returns:
        Level [dB], shape (n,), and derivatives [dB], shape (n, k).

    Source:
        Derivatives of `end_level_db`.
    """
    if parameters.size == 0:
        return np.zeros_like(hertz), np.empty((hertz.size, 0))
    sign = 1.0 if side == "low" else -1.0
    square = ratio_squared(hertz, math.exp(parameters[0]), side)
    if parameters.size == 1:
        slope = -2.0 * sign * _DB * square / (1.0 + square)
        return -_DB * np.log1p(square), slope[:, np.newaxis]
    inverse_q2 = math.exp(-2.0 * parameters[1])
    inside = (1.0 - square) ** 2 + square * inverse_q2
    by_corner = -2.0 * sign * _DB * square * (2.0 * square - 2.0 + inverse_q2) / inside
    by_q = 2.0 * _DB * square * inverse_q2 / inside
    return -_DB * np.log(inside), np.column_stack((by_corner, by_q))
