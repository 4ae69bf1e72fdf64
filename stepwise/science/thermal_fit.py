"""An exponential approach fitted to timed temperatures: where the heat is going, how surely."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, Number, positive
from stepwise.science.least_squares import minimise
from stepwise.science.thermal import exponential_approach

_GRID = np.geomspace(0.05, 20.0, 120)
_GRID.setflags(write=False)
"""Time constants to start from, over the span of the readings; beyond them nothing is told."""
_ROUGH_FROM, _FIRM_FROM = 1.5, 3.0
"""Time constants covered from which an extrapolation is rough, and firm [1]."""


@dataclass(frozen=True, slots=True, eq=False)
class ApproachFit:
    """An exponential approach that fits some temperatures."""

    start: float
    """Temperature at t = 0 [degC]."""
    final: float
    """Temperature after a long time [degC]."""
    tau_s: float
    """Time constant [s]."""
    covariance: FloatArray
    """Covariance of start [degC], final [degC] and ln(tau) [1], shape (3, 3)."""
    chi_square: float
    """Sum of squared residuals over their standard uncertainties [1]."""
    freedom: int
    """Points less parameters [1]."""
    gains: FloatArray
    """Change of start [K], final [K] and ln(tau) [1] for each kelvin that a reading is off,
    shape (3, n)."""
    span_s: float
    """Time from the first reading to the last [s]."""

    @property
    def standard_final(self) -> float:
        """Standard uncertainty of the final temperature [K]."""
        return math.sqrt(float(self.covariance[1, 1]))

    @property
    def spans(self) -> float:
        """Time constants that the readings cover [1]."""
        return self.span_s / self.tau_s

    def temperature(self, t: Number) -> Number:
        """Temperature [degC] at the time `t` [s] of the fit."""
        return exponential_approach(t, self.start, self.final, self.tau_s)


def fit_exponential_approach(
    times_s: ArrayLike, temperatures: ArrayLike, standard_kelvin: ArrayLike
) -> ApproachFit | None:
    """Fit start, end and time constant to temperatures taken at any times.

    Args:
        times_s: Times of the readings [s], shape (n,), n >= 3, not all equal.
        temperatures: Readings [degC], shape (n,).
        standard_kelvin: Standard uncertainty of each reading [K], > 0, a scalar or shape (n,).

    Returns:
        The fit; None when the readings do not bend towards an end: a time constant beyond 20
        times, or below a twentieth of, the span of the readings fits best.

    Raises:
        ValueError: Fewer than three readings, no span of time, or values that are not usable.

    Source:
        Weighted least squares; the start by a search over the time constant, for each of which
        start and end are linear (variable projection, Golub and Pereyra 1973, from memory).

    Example:
        >>> fit = fit_exponential_approach([0.0, 60.0, 120.0], [30.0, 40.0, 46.0], 0.5)
        >>> round(fit.final, 3), round(fit.standard_final, 2)
        (55.0, 5.01)
    """
    times, readings, standard = _checked(times_s, temperatures, standard_kelvin)
    span = float(np.ptp(times))
    losses = [_projected(times, readings, standard, span * factor)[0] for factor in _GRID]
    best = int(np.argmin(losses))
    if best in (0, _GRID.size - 1):
        return None
    first_tau = span * float(_GRID[best])
    _, linear = _projected(times, readings, standard, first_tau)

    def model(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        # A step that throws the time constant out of the numbers is a bad one, not an error.
        tau = math.exp(min(max(float(parameters[2]), -50.0), 50.0))
        decay = np.exp(-times / tau)
        swing = parameters[1] - parameters[0]
        approach = parameters[1] - swing * decay
        by_tau = -swing * decay * times / tau
        slopes = np.column_stack((decay, 1.0 - decay, by_tau))
        return (readings - approach) / standard, -slopes / standard[:, np.newaxis]

    found = minimise(model, np.array([*linear, math.log(first_tau)]))
    start, final, log_tau = (float(each) for each in found.parameters)
    if not np.isfinite(found.covariance).all():
        return None
    _, slopes = model(found.parameters)
    return ApproachFit(
        start=start,
        final=final,
        tau_s=math.exp(log_tau),
        covariance=found.covariance,
        chi_square=found.cost,
        freedom=times.size - 3,
        gains=-found.covariance @ (slopes / standard[:, np.newaxis]).T,
        span_s=span,
    )


def trust_in_approach(fit: ApproachFit) -> tuple[str, str]:
    """How far an extrapolated temperature can be trusted, in words.

    Args:
        fit: The approach.

    Returns:
        A word or two ("a guess", "rough", "" for firm), and a sentence that says why.

    Source:
        Spans of 1.5 and 3 time constants: at 1.5 the error of the last reading reaches the end
        three and a half times enlarged, at 3 one and a half times (tests hold it by
        `ApproachFit.gains`); that these are the bounds is common practice, no source. A sum of
        squares beyond its 99 % point: Wilson and Hilferty 1931, from memory.

    Example:
        >>> fit = fit_exponential_approach([0.0, 60.0, 120.0], [30.0, 40.0, 46.0], 0.5)
        >>> trust_in_approach(fit)[0]
        'a guess'
    """
    covered = f"The readings cover {fit.spans:.1f} time constants"
    if fit.freedom > 0 and fit.chi_square > _surely_too_much(fit.freedom):
        return "doubtful", (
            "The readings do not lie on one approach: the power or the air changed, or one of "
            "them is off; take them again at steady power."
        )
    if fit.spans < _ROUGH_FROM:
        return "a guess", f"{covered}: a guess, so read once more, twice as late."
    if fit.spans < _FIRM_FROM:
        return "rough", f"{covered}: good enough to see trouble coming, not to state a figure."
    return "", f"{covered}: as good as its uncertainty says, while power and air stay as they are."


def _surely_too_much(freedom: int) -> float:
    """Sum of squares that chance passes in one case of a hundred."""
    third = 2.0 / (9.0 * freedom)
    return freedom * (1.0 - third + 2.326 * math.sqrt(third)) ** 3


def _checked(
    times_s: ArrayLike, temperatures: ArrayLike, standard_kelvin: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    times = np.asarray(times_s, dtype=np.float64)
    readings = np.asarray(temperatures, dtype=np.float64)
    if times.ndim != 1 or times.shape != readings.shape or times.size < 3:
        raise ValueError("an approach needs at least three times with a temperature each")
    standard = np.broadcast_to(np.asarray(standard_kelvin, dtype=np.float64), times.shape)
    if not (np.isfinite(times).all() and np.isfinite(readings).all()):
        raise ValueError("times and temperatures must be finite numbers")
    if not (np.isfinite(standard).all() and (standard > 0.0).all()):
        raise ValueError("standard_kelvin must be positive numbers")
    positive(float(np.ptp(times)), "the span of times_s")
    return times, readings, standard


def _projected(
    times: FloatArray, readings: FloatArray, standard: FloatArray, tau: float
) -> tuple[float, FloatArray]:
    """Least loss at a time constant, with the start and end that give it."""
    decay = np.exp(-times / tau)
    design = np.column_stack((decay, 1.0 - decay)) / standard[:, np.newaxis]
    solution, *_ = np.linalg.lstsq(design, readings / standard, rcond=None)
    linear: FloatArray = np.asarray(solution, dtype=np.float64)
    misses = np.asarray(readings / standard - design @ linear, dtype=np.float64)
    return float(misses @ misses), linear
