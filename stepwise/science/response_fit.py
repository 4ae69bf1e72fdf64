"""A model of the whole response chosen and fitted: corners, orders, Q, and the odd readings.

Levels are in dB with their standard uncertainties. The level of the flat middle is fitted too,
so that a slip at 1 kHz does not bend both ends. Which end has which order is decided by the
corrected Akaike criterion: the simplest model that no other beats by more than 2.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, Number, shaped_like
from stepwise.science.least_squares import Minimum, Model, minimise
from stepwise.science.response import REFERENCE_HERTZ, Side
from stepwise.science.response_model import EndOfResponse, end_and_slopes, end_level_db

HUBER_RESIDUAL = 1.345
"""95 % efficient with normal errors (Huber 1964, from memory) [standard uncertainties]."""

OUTLIER_RESIDUAL = 4.0
"""From here on a point is named as odd [standard uncertainties]: 1 in 16 000 by chance."""

WORTH_A_PARAMETER = 2.0
"""What a richer model must gain in the criterion, Burnham and Anderson (from memory) [1]."""

_LARGEST_SHARE_OF_OUTLIERS = 0.2
_LARGEST_LOG = 50.0
_ROUGH = 1e-5
"""Relative; a choice between models needs no more of a sum of squares."""
_PEAK_DB = 0.3
"""A hump from which on a resonant end is worth a start of its own."""
_OUT_OF_SIGHT = 30.0
"""A corner this many times beyond the points, or a Q beyond it, is not told by them."""


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

    def level_db(self, f: Number) -> Number:
        """Level of the fitted response [dB re the reference reading] at `f` [Hz]."""
        hertz = np.asarray(f, dtype=np.float64)
        level = self.offset_db + end_level_db(hertz, self.low, "low")
        return shaped_like(f, level + end_level_db(hertz, self.high, "high"))


@dataclass(frozen=True, slots=True, eq=False)
class _Points:
    """The readings of a sweep, ready for a fit."""

    hertz: FloatArray
    levels: FloatArray
    standard: FloatArray

    def keep(self, kept: FloatArray) -> _Points:
        return _Points(self.hertz[kept], self.levels[kept], self.standard[kept])


@dataclass(frozen=True, slots=True, eq=False)
class _Candidate:
    """One choice of orders with its best parameters."""

    orders: tuple[int, int]
    minimum: Minimum
    aicc: float


def fit_response(
    frequencies: ArrayLike, levels_db: ArrayLike, standard_db: ArrayLike
) -> ResponseFit:
    """Choose and fit a model of a response.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0, n >= 4.
        levels_db: Levels there [dB re the reference reading], shape (n,).
        standard_db: Standard uncertainty of each level [dB], > 0, a scalar or shape (n,).

    Returns:
        The fit, with the points that do not belong to it.

    Raises:
        ValueError: Fewer than four points, or values that are not usable.

    Source:
        Weighted least squares with Huber's loss for the choice and plain squares, without the
        outliers, for the figures; AICc = chi^2 + 2 k + 2 k (k + 1) / (n - k - 1), Hurvich and
        Tsai 1989 (from memory).

    Example:
        >>> f = [10.0, 20.0, 50.0, 200.0, 1e3, 5e3, 2e4]
        >>> fit = fit_response(f, [-3.01, -0.97, -0.17, -0.01, 0.0, 0.0, 0.0], 0.05)
        >>> fit.low.order, round(fit.low.corner_hertz, 1), fit.high.order
        (1, 10.0, 0)
    """
    points = _checked(frequencies, levels_db, standard_db)
    chosen = _choose(points)
    outliers = _outliers(chosen.minimum.residuals)
    kept = np.setdiff1d(np.arange(points.hertz.size), outliers)
    used = points.keep(kept)
    orders, final = chosen.orders, minimise(_model(used, chosen.orders), chosen.minimum.parameters)
    if not _in_sight(used, orders, final.parameters):
        # Only the points left out spoke for an end: without them there is none to describe.
        orders = (0, 0)
        final = minimise(_model(used, orders), np.array([float(np.median(used.levels))]))
    return _described(points, orders, final, outliers)


def _checked(frequencies: ArrayLike, levels_db: ArrayLike, standard_db: ArrayLike) -> _Points:
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
    return _Points(hertz, levels, standard)


def _choose(points: _Points) -> _Candidate:
    """Walk from the richest guess: settle the low end beside a plain high end, then the high."""
    low = _simplest([_candidate(points, (order, 1)) for order in (0, 1, 2)])
    others = [_candidate(points, (low.orders[0], order)) for order in (0, 2)]
    best = _simplest([others[0], low, others[1]])
    if best.orders[1] == low.orders[1]:
        return best
    # The plain high end may have stood in for another shape and coloured the first choice.
    again = [_candidate(points, (order, best.orders[1])) for order in (0, 1, 2)]
    return _simplest(again)


def _simplest(rising: list[_Candidate]) -> _Candidate:
    """The first that no later, richer one beats by what its parameters are worth."""
    best = rising[0]
    for candidate in rising[1:]:
        if candidate.aicc < best.aicc - WORTH_A_PARAMETER:
            best = candidate
    return best


def _candidate(points: _Points, orders: tuple[int, int]) -> _Candidate:
    """The better of the fits from each place worth starting from."""
    starts = _starts(points, orders)
    minima = [minimise(_model(points, orders), start, HUBER_RESIDUAL, _ROUGH) for start in starts]
    best = min(minima, key=lambda each: each.cost)
    count = best.parameters.size
    room = points.hertz.size - count - 1
    if room <= 0 or not _in_sight(points, orders, best.parameters):
        return _Candidate(orders, best, math.inf)
    return _Candidate(orders, best, best.cost + 2.0 * count + 2.0 * count * (count + 1) / room)


def _starts(points: _Points, orders: tuple[int, int]) -> Iterable[FloatArray]:
    """Starting parameters: corners from the outermost levels, Q from flat and from peaked."""
    middle = float(np.median(points.levels))
    peaked = float(points.levels.max()) - middle > _PEAK_DB
    for q in (0.6, 1.6) if 2 in orders and peaked else (0.6,):
        start = [middle]
        for order, side in zip(orders, ("low", "high"), strict=True):
            outermost = np.argmin(points.hertz) if side == "low" else np.argmax(points.hertz)
            drop = min(max(middle - float(points.levels[outermost]), 0.2), 30.0)
            factor = math.expm1(drop / 10.0 * math.log(10.0)) ** (0.5 / max(order, 1))
            corner = math.log(float(points.hertz[outermost]))
            corner += math.log(factor) if side == "low" else -math.log(factor)
            start += [corner, math.log(q)][:order]
        yield np.array(start)


def _in_sight(points: _Points, orders: tuple[int, int], parameters: FloatArray) -> bool:
    """Whether each corner and Q lies where the points can tell it."""
    lowest, highest = math.log(points.hertz.min()), math.log(points.hertz.max())
    limit, middle = math.log(_OUT_OF_SIGHT), math.log(REFERENCE_HERTZ)
    for end, side in _ends(parameters, orders):
        if end.size == 0:
            continue
        beyond = lowest - end[0] if side == "low" else end[0] - highest
        past_middle = end[0] - middle if side == "low" else middle - end[0]
        if beyond > limit or past_middle > 0.0 or np.any(np.abs(end[1:]) > limit):
            return False
    return True


def _ends(
    parameters: FloatArray, orders: tuple[int, int]
) -> tuple[tuple[FloatArray, Side], tuple[FloatArray, Side]]:
    """The part of the parameters that belongs to each end."""
    split = 1 + orders[0]
    return (parameters[1:split], "low"), (parameters[split:], "high")


def _model(points: _Points, orders: tuple[int, int]) -> Model:
    """Residuals over their standard uncertainties, and their derivatives."""

    def residuals(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        # A step that throws a corner out of the numbers is turned into a bad one, not an error.
        bounded = np.clip(parameters, -_LARGEST_LOG, _LARGEST_LOG)
        low, high = _ends(bounded, orders)
        low_level, low_slopes = end_and_slopes(points.hertz, *low)
        high_level, high_slopes = end_and_slopes(points.hertz, *high)
        difference = points.levels - bounded[0] - low_level - high_level
        ones = np.ones((points.hertz.size, 1))
        slopes = np.hstack((ones, low_slopes, high_slopes))
        return difference / points.standard, -slopes / points.standard[:, np.newaxis]

    return residuals


def _outliers(residuals: FloatArray) -> tuple[int, ...]:
    """Points far off, worst first; a scatter wider than stated widens what is far."""
    spread = max(1.0, 1.4826 * float(np.median(np.abs(residuals))))
    far = np.flatnonzero(np.abs(residuals) > OUTLIER_RESIDUAL * spread)
    worst_first = far[np.argsort(-np.abs(residuals[far]), kind="stable")]
    most = int(_LARGEST_SHARE_OF_OUTLIERS * residuals.size)
    return tuple(int(each) for each in worst_first[:most])


def _described(
    points: _Points, orders: tuple[int, int], final: Minimum, outliers: tuple[int, ...]
) -> ResponseFit:
    """Put the numbers of a fit into words."""
    all_residuals, _ = _model(points, orders)(final.parameters)
    count, used = final.parameters.size, points.hertz.size - len(outliers)
    correction = 2.0 * count * (count + 1) / max(used - count - 1, 1)
    standard = np.sqrt(np.diag(final.covariance))
    low, high = (
        _end(part, spread)
        for (part, _), (spread, _) in zip(
            _ends(final.parameters, orders), _ends(standard, orders), strict=True
        )
    )
    return ResponseFit(
        low=low,
        high=high,
        offset_db=float(final.parameters[0]),
        covariance=final.covariance,
        chi_square=final.cost,
        freedom=used - count,
        aicc=final.cost + 2.0 * count + correction,
        residuals=all_residuals,
        outliers=outliers,
    )


def _end(parameters: FloatArray, standard: FloatArray) -> EndOfResponse:
    """One end from the logarithms of its corner and Q, and their standard uncertainties."""
    if parameters.size == 0:
        return EndOfResponse(0)
    corner = math.exp(parameters[0])
    end = EndOfResponse(1, corner, corner * float(standard[0]))
    if parameters.size == 1:
        return end
    q = math.exp(parameters[1])
    return replace(end, order=2, q=q, standard_q=q * float(standard[1]))
