"""Levenberg and Marquardt's method for small fits, and what the answer is worth.

Enough for the handful of parameters and points of this room, without scipy; residuals are
expected already divided by their standard uncertainties, so that the covariance is that of the
readings and not of the scatter about the curve.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from stepwise.science.domain import FloatArray

Model = Callable[[FloatArray], tuple[FloatArray, FloatArray]]
"""Parameters (p,) -> residuals (n,) and their Jacobian (n, p)."""

_STEPS = 60
_SMALLEST_DAMPING, _LARGEST_DAMPING = 1e-12, 1e10


@dataclass(frozen=True, slots=True, eq=False)
class Minimum:
    """Where a sum of squares is least."""

    parameters: FloatArray
    """Best parameters, shape (p,), in the units of the model."""
    cost: float
    """Sum of squares there, or of Huber's loss [1]."""
    residuals: FloatArray
    """Residuals there, shape (n,), over their standard uncertainties [1]."""
    covariance: FloatArray
    """Covariance of the parameters, shape (p, p); infinite variances where the data do not
    determine them all."""


def minimise(
    model: Model, start: FloatArray, huber: float | None = None, close: float = 1e-12
) -> Minimum:
    """Find the parameters with the least sum of squared residuals.

    Args:
        model: Gives residuals over their standard uncertainties [1], shape (n,), and their
            derivatives by the parameters, shape (n, p).
        start: Parameters to start from, shape (p,), in the units of the model [-].
        huber: Residual from which on the loss grows linearly [1], so that a single wrong
            reading does not draw the curve to itself; None (default) for plain squares.
        close: Relative fall of the loss below which nothing is left to gain [1].

    Returns:
        The minimum that is reached from there.

    Source:
        Levenberg 1944, Marquardt 1963 with diagonal scaling; Huber 1964; from memory.
    """
    parameters = np.array(start, dtype=np.float64)
    residuals, jacobian = model(parameters)
    cost = _loss(residuals, huber)
    damping = 1e-3
    for _ in range(_STEPS):
        weight = _weights(residuals, huber)
        curvature = (jacobian * weight[:, np.newaxis]).T @ jacobian
        gradient = jacobian.T @ (weight * residuals)
        scale = np.maximum(np.diag(curvature), 1e-30)
        trial = parameters - np.linalg.solve(curvature + np.diag(damping * scale), gradient)
        trial_residuals, trial_jacobian = model(trial)
        trial_cost = _loss(trial_residuals, huber)
        if not trial_cost < cost:
            damping *= 8.0
            if damping > _LARGEST_DAMPING:
                break
            continue
        gained = cost - trial_cost
        parameters, residuals, jacobian = trial, trial_residuals, trial_jacobian
        cost = trial_cost
        damping = max(damping / 8.0, _SMALLEST_DAMPING)
        if gained <= close * (cost + close):
            break
    return Minimum(parameters, cost, residuals, _covariance(jacobian))


def _weights(residuals: FloatArray, huber: float | None) -> FloatArray:
    """Weights by which plain squares have the gradient of Huber's loss."""
    if huber is None:
        return np.ones_like(residuals)
    return huber / np.maximum(np.abs(residuals), huber)


def _loss(residuals: FloatArray, huber: float | None) -> float:
    """Sum of squares, linear beyond `huber`; infinite where the model has no value."""
    if not np.isfinite(residuals).all():
        return float("inf")
    if huber is None:
        return float(residuals @ residuals)
    size = np.abs(residuals)
    return float(np.sum(np.where(size <= huber, size**2, 2.0 * huber * size - huber**2)))


def _covariance(jacobian: FloatArray) -> FloatArray:
    """Inverse of the curvature; infinite on the diagonal where it has none."""
    count = jacobian.shape[1]
    scale = np.sqrt(np.maximum(np.sum(jacobian**2, axis=0), 1e-300))
    scaled = (jacobian / scale).T @ (jacobian / scale)
    if np.linalg.cond(scaled) > 1e13:
        return np.diag(np.full(count, np.inf))
    covariance: FloatArray = np.linalg.inv(scaled) / np.outer(scale, scale)
    return covariance
