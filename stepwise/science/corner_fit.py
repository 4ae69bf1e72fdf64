"""A first-order corner fitted to the points of one end of a sweep."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray
from stepwise.science.response import Side, ordered_points, reference_index

_GRID_POINTS = 241
_GRID_BEYOND = 30.0
"""A corner this many times beyond the outermost point changes it by 0.005 dB: not visible."""

_DB_PER_LN = 20.0 / math.log(10.0)


@dataclass(frozen=True, slots=True)
class FirstOrderFit:
    """A first-order corner fitted to one end of a sweep."""

    corner_hertz: float
    """Where the fitted response is 3.01 dB down [Hz]."""
    standard_hertz: float
    """Standard uncertainty of the corner [Hz], from the uncertainties of the levels alone."""
    chi_square: float
    """Sum of squared residuals over their standard uncertainties [1]; about `points` - 1 when
    a first-order corner is the right model and the uncertainties are right."""
    points: int
    """How many points were used [1]."""


def fit_first_order_low(
    frequencies: ArrayLike, levels_db: ArrayLike, standard_db: ArrayLike
) -> FirstOrderFit | None:
    """Fit a first-order high-pass to the points below the reference.

    Weighted least squares in dB; the model is 0 dB at the reference as the readings are.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0.
        levels_db: Levels at these frequencies [dB re the reference], shape (n,).
        standard_db: Standard uncertainty of each level [dB], > 0, a scalar or shape (n,).

    Returns:
        The fit; None when fewer than two points lie on that side, or when they show no fall
        that would place a corner (the best corner is more than 30 times beyond them).

    Raises:
        ValueError: The points or their uncertainties are not usable.

    Source:
        Weighted least squares, JCGM 100 annex H.3 (from memory) for the one-parameter case.

    Example:
        >>> fit = fit_first_order_low([10.0, 20.0, 1000.0], [-3.0103, -0.9691, 0.0], 0.1)
        >>> round(fit.corner_hertz, 1)
        10.0
    """
    return _fit_side(frequencies, levels_db, standard_db, "low")


def fit_first_order_high(
    frequencies: ArrayLike, levels_db: ArrayLike, standard_db: ArrayLike
) -> FirstOrderFit | None:
    """Fit a first-order low-pass to the points above the reference.

    Weighted least squares in dB; the model is 0 dB at the reference as the readings are.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0.
        levels_db: Levels at these frequencies [dB re the reference], shape (n,).
        standard_db: Standard uncertainty of each level [dB], > 0, a scalar or shape (n,).

    Returns:
        The fit; None when fewer than two points lie on that side, or when they show no fall
        that would place a corner (the best corner is more than 30 times beyond them).

    Raises:
        ValueError: The points or their uncertainties are not usable.

    Source:
        Weighted least squares, JCGM 100 annex H.3 (from memory) for the one-parameter case.

    Example:
        >>> fit = fit_first_order_high([1e3, 1e5, 2e5], [0.0, -0.9691, -3.0103], 0.1)
        >>> round(fit.corner_hertz / 1e5, 2)
        2.0
    """
    return _fit_side(frequencies, levels_db, standard_db, "high")


def _fit_side(
    frequencies: ArrayLike, levels_db: ArrayLike, standard_db: ArrayLike, side: Side
) -> FirstOrderFit | None:
    """Fit one side; the high side is the low side with its frequencies mirrored."""
    given = np.asarray(frequencies, dtype=np.float64)
    standard = np.broadcast_to(np.asarray(standard_db, dtype=np.float64), given.shape)
    if not (np.isfinite(standard).all() and (standard > 0.0).all()):
        raise ValueError("standard_db must be positive numbers")
    hertz, levels = ordered_points(given, levels_db)
    standard = standard[np.argsort(given, kind="stable")]
    reference = hertz[reference_index(hertz)]
    used = hertz < reference if side == "low" else hertz > reference
    if np.count_nonzero(used) < 2:
        return None
    distance = hertz[used] / reference if side == "low" else reference / hertz[used]
    log_corner = _best_log_corner(distance, levels[used], 1.0 / standard[used])
    if log_corner is None:
        return None
    residual, slope = _residual_and_slope(log_corner, distance, levels[used], 1.0 / standard[used])
    relative = 1.0 / math.sqrt(float(slope @ slope))
    corner = float(reference) * math.exp(log_corner if side == "low" else -log_corner)
    return FirstOrderFit(
        corner, corner * relative, float(residual @ residual), int(np.count_nonzero(used))
    )


def _residual_and_slope(
    log_corner: float, distance: FloatArray, levels: FloatArray, weight: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Weighted residuals, and the weighted slope of the model over the log of the corner."""
    square = math.exp(2.0 * log_corner)
    at_point, at_reference = square / distance**2, square
    model = -0.5 * _DB_PER_LN * (np.log1p(at_point) - math.log1p(at_reference))
    slope = -_DB_PER_LN * (at_point / (1 + at_point) - at_reference / (1 + at_reference))
    return weight * (levels - model), weight * slope


def _best_log_corner(distance: FloatArray, levels: FloatArray, weight: FloatArray) -> float | None:
    """Log of the best corner over the reference, or None when it lies out of sight."""
    lowest = math.log(float(distance.min()) / _GRID_BEYOND)
    grid = np.linspace(lowest, math.log(_GRID_BEYOND), _GRID_POINTS)
    square = np.exp(2.0 * grid)[:, np.newaxis]
    models = -0.5 * _DB_PER_LN * (np.log1p(square / distance**2) - np.log1p(square))
    chi = np.sum((weight * (levels - models)) ** 2, axis=1)
    best = int(np.argmin(chi))
    if best in (0, _GRID_POINTS - 1):
        return None
    return _root_of_gradient(float(grid[best - 1]), float(grid[best + 1]), distance, levels, weight)


def _root_of_gradient(
    low: float, high: float, distance: FloatArray, levels: FloatArray, weight: FloatArray
) -> float:
    """Bisect d(chi square)/d(log corner) to the last bit, so that nudges stay smooth."""
    while True:
        middle = 0.5 * (low + high)
        if middle in (low, high):
            return middle
        residual, slope = _residual_and_slope(middle, distance, levels, weight)
        if float(residual @ slope) > 0.0:
            low = middle
        else:
            high = middle
