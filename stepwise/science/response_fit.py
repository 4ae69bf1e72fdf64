"""A model of the whole response chosen and fitted: corners, orders, Q, and the odd readings.

Levels are in dB with their standard uncertainties. The level of the flat middle is fitted too,
so that a slip at the reference does not bend both ends. Which end has which order is decided by
the corrected Akaike criterion: the simplest model that no other beats by more than 2.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray
from stepwise.science.fitted_response import ResponseFit, Rival
from stepwise.science.least_squares import Minimum, Model, minimise
from stepwise.science.response import REFERENCE_HERTZ
from stepwise.science.response_choice import (
    Candidate,
    fit_candidates,
    in_sight,
    simplest_candidate,
    split_ends,
)
from stepwise.science.response_model import EndOfResponse, end_and_slopes
from stepwise.science.response_points import Orders, ResponsePoints, response_points

OUTLIER_RESIDUAL = 5.0
"""From here on a point is named as odd [standard uncertainties]: a step and a half of a scale
that is read to its step, which rounding alone never makes."""

LEAST_OUTLIER_DB = 0.3
"""Less than this [dB] is no slip of reading: common practice, no source."""

_LARGEST_SHARE_OF_OUTLIERS = 0.2
_LARGEST_LOG = 50.0
_CONSIDERED = 10.0
"""A model this far behind in the criterion has essentially no support, Burnham and Anderson
(from memory) [1]."""


def fit_response(
    frequencies: ArrayLike,
    levels_db: ArrayLike,
    standard_db: ArrayLike,
    shared_db: ArrayLike | None = None,
    reference_hertz: float = REFERENCE_HERTZ,
) -> ResponseFit:
    """Choose and fit a model of a response.

    An error that several levels share, such as that of the meter's scale, is fitted beside the
    model within its own uncertainty, so that it is not taken for a shape of the response.

    Args:
        frequencies: Frequencies in any order [Hz], shape (n,), each > 0, n >= 4.
        levels_db: Levels there [dB re the reference reading], shape (n,).
        standard_db: Standard uncertainty of each level [dB], > 0, a scalar or shape (n,);
            without what it shares with others.
        shared_db: What one standard uncertainty of each shared error does to each level [dB],
            shape (m, n); default none.
        reference_hertz: A frequency between the two ends [Hz], > 0, default 1 kHz.

    Returns:
        The fit, with the points that do not belong to it.

    Raises:
        ValueError: Fewer than four points, or values that are not usable.

    Source:
        Weighted least squares with Huber's loss for the choice and plain squares, without the
        outliers, for the figures; AICc = chi^2 + 2 k + 2 k (k + 1) / (n - k - 1), Hurvich and
        Tsai 1989 (from memory). Weights of evidence exp(-AICc / 2), Akaike (from memory).

    Example:
        >>> f = [10.0, 20.0, 50.0, 200.0, 1e3, 5e3, 2e4]
        >>> fit = fit_response(f, [-3.01, -0.97, -0.17, -0.01, 0.0, 0.0, 0.0], 0.05)
        >>> fit.low.order, round(fit.low.corner_hertz, 1), fit.high.order
        (1, 10.0, 0)
    """
    points = response_points(frequencies, levels_db, standard_db, shared_db, reference_hertz)
    found = fit_candidates(points)
    chosen = simplest_candidate(found)
    outliers = _outliers(points, chosen.residuals)
    kept, used, final = _without(points, chosen, outliers)
    if outliers:
        # Only what the curve of the others forbids is odd, not what it merely did not foresee.
        outliers = _forbidden(points, chosen.orders, final, outliers)
        kept, used, final = _without(points, chosen, outliers)
    orders = chosen.orders
    if not in_sight(used, orders, final.parameters):
        # Only the points left out spoke for an end: without them there is none to describe.
        orders = (0, 0)
        start = np.zeros(1 + points.shared.shape[0])
        start[0] = float(np.median(used.levels))
        final = minimise(_model(used, orders), start)
    fit = _described(points, orders, final, outliers)
    return replace(
        fit,
        sensitivity=_sensitivity(points, used, kept, orders, final),
        rivals=_rivals(found, orders),
    )


def _model(points: ResponsePoints, orders: Orders) -> Model:
    """Residuals over their standard uncertainties, and their derivatives."""
    shares, stop = points.shared.shape[0], 1 + sum(orders)
    ones = np.ones((points.hertz.size, 1))

    def residuals(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        # A step that throws a corner out of the numbers is turned into a bad one, not an error.
        bounded = parameters.copy()
        bounded[1:stop] = np.clip(parameters[1:stop], -_LARGEST_LOG, _LARGEST_LOG)
        low, high = split_ends(bounded, orders)
        low_level, low_slopes = end_and_slopes(points.hertz, *low)
        high_level, high_slopes = end_and_slopes(points.hertz, *high)
        amounts = bounded[bounded.size - shares :]
        modelled = bounded[0] + low_level + high_level + amounts @ points.shared
        difference = (points.levels - modelled) / points.standard
        slopes = np.hstack((ones, low_slopes, high_slopes, points.shared.T))
        slopes /= -points.standard[:, np.newaxis]
        if not shares:
            return difference, slopes
        own = np.zeros((shares, slopes.shape[1]))
        own[:, slopes.shape[1] - shares :] = -np.eye(shares)
        return np.concatenate((difference, -amounts)), np.vstack((slopes, own))

    return residuals


def _outliers(points: ResponsePoints, residuals: FloatArray) -> tuple[int, ...]:
    """Points far off, worst first; a scatter wider than stated widens what is far."""
    spread = max(1.0, 1.4826 * float(np.median(np.abs(residuals))))
    least = np.maximum(OUTLIER_RESIDUAL * spread, LEAST_OUTLIER_DB / points.standard)
    far = np.flatnonzero(np.abs(residuals) > least)
    worst_first = far[np.argsort(-np.abs(residuals[far]), kind="stable")]
    most = int(_LARGEST_SHARE_OF_OUTLIERS * residuals.size)
    return tuple(int(each) for each in worst_first[:most])


def _without(
    points: ResponsePoints, chosen: Candidate, outliers: tuple[int, ...]
) -> tuple[FloatArray, ResponsePoints, Minimum]:
    """Places and points that are left, and the chosen model fitted to them alone."""
    kept = np.setdiff1d(np.arange(points.hertz.size), outliers)
    used = points.keep(kept)
    return kept, used, minimise(_model(used, chosen.orders), chosen.parameters)


def _forbidden(
    points: ResponsePoints, orders: Orders, final: Minimum, outliers: tuple[int, ...]
) -> tuple[int, ...]:
    """Those that lie off the curve of the others by more than it and they are uncertain."""
    if not np.isfinite(final.covariance).all():
        return ()
    residuals, slopes = _model(points, orders)(final.parameters)
    foreseen = np.einsum("ij,jk,ik->i", slopes, final.covariance, slopes)
    far = OUTLIER_RESIDUAL * np.sqrt(1.0 + foreseen)
    return tuple(each for each in outliers if abs(residuals[each]) > far[each])


def _sensitivity(
    points: ResponsePoints, used: ResponsePoints, kept: FloatArray, orders: Orders, final: Minimum
) -> FloatArray:
    """Change of the parameters by each level: that of the linear problem at the minimum."""
    count = 1 + sum(orders)
    sensitivity = np.zeros((count, points.hertz.size))
    if np.isfinite(final.covariance).all():
        _, slopes = _model(used, orders)(final.parameters)
        by_level = -final.covariance @ slopes[: used.hertz.size].T / used.standard
        sensitivity[:, kept] = by_level[:count]
    return sensitivity


def _described(
    points: ResponsePoints, orders: Orders, final: Minimum, outliers: tuple[int, ...]
) -> ResponseFit:
    """Put the numbers of a fit into words."""
    size = points.hertz.size
    all_residuals, _ = _model(points, orders)(final.parameters)
    count, used = 1 + sum(orders), size - len(outliers)
    correction = 2.0 * count * (count + 1) / max(used - count - 1, 1)
    covariance = final.covariance[:count, :count]
    standard = np.sqrt(np.diag(covariance))
    low, high = (
        _end(part, spread)
        for (part, _), (spread, _) in zip(
            split_ends(final.parameters, orders), split_ends(standard, orders), strict=True
        )
    )
    return ResponseFit(
        low=low,
        high=high,
        offset_db=float(final.parameters[0]),
        covariance=covariance,
        sensitivity=np.zeros((count, size)),
        chi_square=final.cost,
        freedom=used - count,
        aicc=final.cost + 2.0 * count + correction,
        residuals=all_residuals[:size],
        outliers=outliers,
    )


def _rivals(found: list[Candidate], orders: Orders) -> tuple[Rival, ...]:
    """What else the points support, with its share of the evidence.

    The correction of the criterion for few points guards the choice; where the uncertainties of
    the readings are known, the evidence itself is that of the plain criterion.
    """
    told = [each for each in found if math.isfinite(each.aicc)]
    plain = {each.orders: each.loss + 2.0 * sum(each.orders) for each in told}
    least = min(plain.values())
    evidence = {key: math.exp((least - value) / 2.0) for key, value in plain.items()}
    whole = sum(evidence.values())
    return tuple(
        Rival(*_bare_ends(each), evidence[each.orders] / whole)
        for each in sorted(told, key=lambda each: plain[each.orders])
        if each.orders != orders and plain[each.orders] < least + _CONSIDERED
    )


def _bare_ends(candidate: Candidate) -> tuple[EndOfResponse, EndOfResponse]:
    """The ends of a model that was not carried to its last digit."""
    (low, _), (high, _) = split_ends(candidate.parameters, candidate.orders)
    return _end(low, np.zeros_like(low)), _end(high, np.zeros_like(high))


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
