"""Which family a response belongs to: every pair of orders is fitted, the simplest good one wins.

All pairs, from each place worth starting, are fitted side by side in one stack of small
problems: a sweep is fitted again after each key, and one at a time they would take too long.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

import numpy as np

from stepwise.science.domain import FloatArray
from stepwise.science.response import Side
from stepwise.science.response_points import Orders, ResponsePoints

HUBER_RESIDUAL = 1.345
"""95 % efficient with normal errors (Huber 1964, from memory) [standard uncertainties]."""

WORTH_A_PARAMETER = 2.0
"""What a richer model must gain in the criterion, Burnham and Anderson (from memory) [1]."""

_DB = 10.0 / math.log(10.0)
_ROUNDS = 40
_CLOSE, _CLOSE_SHARE = 3e-3, 1e-3
"""Gain in the loss [1], and as a share of it, below which a problem is done: a choice hangs on
differences of 2, and where a loss is large it is not near."""
_LARGEST_LOG = 30.0
_LARGEST_DAMPING = 1e8
_OUT_OF_SIGHT = 30.0
"""A corner this many times beyond the points, or a Q beyond it, is not told by them."""
_PEAK_DB = 0.3
"""A hump from which on a resonant end is worth a start of its own."""
_SIGN = np.array([2.0, -2.0])[:, np.newaxis]
"""Exponent of corner over frequency at the low and at the high end."""
_SHAPES = np.arange(5)


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One pair of orders with its best parameters."""

    orders: Orders
    parameters: FloatArray
    """Offset [dB], ln(corner in Hz) and ln(Q) of each end as far as it has them, shared errors
    [standard uncertainties]."""
    residuals: FloatArray
    """Reading less model over its standard uncertainty [1], shape (n,)."""
    loss: float
    """Huber's loss at the minimum [1]."""
    aicc: float
    """Corrected Akaike criterion [1], infinite where the points cannot tell this model."""


def fit_candidates(points: ResponsePoints) -> list[Candidate]:
    """Fit every pair of orders that the points could tell, robustly.

    Args:
        points: The readings.

    Returns:
        One candidate for each pair of orders.

    Source:
        Least squares with Huber's loss by Levenberg and Marquardt's method, from memory;
        AICc = chi^2 + 2 k + 2 k (k + 1) / (n - k - 1), Hurvich and Tsai 1989 (from memory).
    """
    stack = _Stack.of(points)
    losses, residuals = stack.solve()
    best: dict[Orders, int] = {}
    for place, orders in enumerate(stack.orders):
        if orders not in best or losses[place] < losses[best[orders]]:
            best[orders] = place
    found = []
    for orders, place in best.items():
        used = [0, *_places(orders), *range(_SHAPES.size, stack.parameters.shape[1])]
        parameters = stack.parameters[place, used]
        loss, own = float(losses[place]), residuals[place, : points.hertz.size]
        aicc = _criterion(points, orders, parameters, loss)
        found.append(Candidate(orders, parameters, own, loss, aicc))
    return found


def simplest_candidate(found: list[Candidate]) -> Candidate:
    """The candidate with the fewest parameters that no other beats by what one is worth.

    Args:
        found: Candidates of one sweep, at least one.

    Returns:
        The chosen one.

    Source:
        Models within 2 of the least criterion are as good as the best, Burnham and Anderson
        (from memory); of those the simplest.
    """
    least = min(each.aicc for each in found)
    near = [each for each in found if each.aicc <= least + WORTH_A_PARAMETER]
    return min(near, key=lambda each: (sum(each.orders), each.aicc))


def in_sight(points: ResponsePoints, orders: Orders, parameters: FloatArray) -> bool:
    """Whether each corner and Q lies where the points can tell it.

    Args:
        points: The readings.
        orders: Orders of the two ends [1].
        parameters: As in `Candidate`.

    Returns:
        False for a corner past the reference or far beyond the points, or a Q out of reason.

    Source:
        None: a corner 30 times beyond the outermost point changes it by 0.005 dB.
    """
    lowest, highest = math.log(points.hertz.min()), math.log(points.hertz.max())
    limit, middle = math.log(_OUT_OF_SIGHT), math.log(points.reference_hertz)
    for end, side in split_ends(parameters, orders):
        if end.size == 0:
            continue
        beyond = lowest - end[0] if side == "low" else end[0] - highest
        past_middle = end[0] - middle if side == "low" else middle - end[0]
        if beyond > limit or past_middle > 0.0 or np.any(np.abs(end[1:]) > limit):
            return False
    return True


def split_ends(
    parameters: FloatArray, orders: Orders
) -> tuple[tuple[FloatArray, Side], tuple[FloatArray, Side]]:
    """The part of the parameters that belongs to each end.

    Args:
        parameters: As in `Candidate`.
        orders: Orders of the two ends [1].

    Returns:
        ln(corner in Hz) and ln(Q) as far as the end has them, and its side, for each end.

    Source:
        None: only an arrangement.
    """
    split, stop = 1 + orders[0], 1 + sum(orders)
    return (parameters[1:split], "low"), (parameters[split:stop], "high")


def _places(orders: Orders) -> list[int]:
    """Where the parameters of two ends stand in a row that has room for all."""
    return [*range(1, 1 + orders[0]), *range(3, 3 + orders[1])]


def _criterion(
    points: ResponsePoints, orders: Orders, parameters: FloatArray, loss: float
) -> float:
    count = 1 + sum(orders)
    room = points.hertz.size - count - 1
    if room <= 0 or not in_sight(points, orders, parameters):
        return math.inf if count > 1 else loss + 2.0
    return loss + 2.0 * count + 2.0 * count * (count + 1) / room


@dataclass(slots=True, eq=False)
class _Stack:
    """Problems of one kind, solved together; every row has room for both ends at order two."""

    points: ResponsePoints
    orders: list[Orders]
    parameters: FloatArray
    """Offset, ln corner and ln Q of the low and the high end, shared errors; shape (b, 5 + m)."""
    linear: FloatArray
    """1 where an end has order one, shape (b, 2, 1)."""
    second: FloatArray
    """1 where an end has order two, shape (b, 2, 1)."""
    idle: FloatArray
    """1 on the diagonal of parameters that a problem does not have, shape (b, p, p)."""
    fixed: FloatArray
    """Derivatives that never change: offset and shared errors, with the others 0; (b, p, n + m)."""
    log_hertz: FloatArray
    """ln(frequency in Hz), shape (n,)."""

    @classmethod
    def of(cls, points: ResponsePoints) -> _Stack:
        """All pairs of orders from all starts."""
        most = points.highest_orders()
        low, high = _starts(points, "low", most[0]), _starts(points, "high", most[1])
        pairs = list(product(low, high))
        orders = [(first[0], other[0]) for first, other in pairs]
        shares, count = points.shared.shape
        width = _SHAPES.size + shares
        parameters = np.zeros((len(pairs), width))
        parameters[:, 0] = np.median(points.levels)
        parameters[:, 1:3] = [first[1:] for first, _ in pairs]
        parameters[:, 3:5] = [other[1:] for _, other in pairs]
        kind = np.array(orders)[:, :, np.newaxis]
        idle = np.zeros((len(pairs), width, width))
        for place, each in enumerate(orders):
            for spare in {1, 2, 3, 4} - set(_places(each)):
                idle[place, spare, spare] = 1.0
        fixed = np.zeros((len(pairs), width, count + shares))
        fixed[:, 0, :count] = 1.0 / points.standard
        fixed[:, 5:, :count] = points.shared / points.standard
        fixed[:, 5:, count:] = np.eye(shares)
        return cls(
            points, orders, parameters, (kind == 1).astype(float), (kind == 2).astype(float),
            idle, fixed, np.log(points.hertz),
        )  # fmt: skip

    def solve(self) -> tuple[FloatArray, FloatArray]:
        """Take every problem to its minimum; gives losses (b,) and residuals (b, n + m)."""
        residuals, jacobian = self._model(self.parameters)
        losses = self._losses(residuals)
        damping = np.full(losses.size, 1e-3)
        done = np.zeros(losses.size, dtype=bool)
        identity = np.eye(self.parameters.shape[1])
        for _ in range(_ROUNDS):
            weighted = jacobian * self._weights(residuals)[:, np.newaxis, :]
            curvature = weighted @ jacobian.transpose(0, 2, 1) + self.idle
            gradient = weighted @ residuals[:, :, np.newaxis]
            scale = curvature.diagonal(axis1=1, axis2=2) + 1e-30
            damped = curvature + identity * (damping[:, np.newaxis] * scale)[:, np.newaxis, :]
            step = np.linalg.solve(damped, gradient)[:, :, 0]
            trial = self.parameters + step
            trial[:, 1:5] = np.clip(trial[:, 1:5], -_LARGEST_LOG, _LARGEST_LOG)
            fresh_residuals, fresh_jacobian = self._model(trial)
            fresh_losses = self._losses(fresh_residuals)
            better = (fresh_losses < losses) & ~done
            done |= better & (losses - fresh_losses <= _CLOSE + _CLOSE_SHARE * fresh_losses)
            self.parameters[better] = trial[better]
            residuals[better], jacobian[better] = fresh_residuals[better], fresh_jacobian[better]
            losses = np.where(better, fresh_losses, losses)
            damping = np.where(better, np.maximum(damping / 8.0, 1e-12), damping * 8.0)
            done |= damping > _LARGEST_DAMPING
            if done.all():
                break
        return losses, residuals

    def _model(self, parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Residuals (b, n + m) and the derivatives of the model (b, p, n + m)."""
        points, count = self.points, self.points.hertz.size
        square = np.exp(_SIGN * (parameters[:, 1:5:2, np.newaxis] - self.log_hertz))
        inverse_q2 = np.exp(-2.0 * parameters[:, 2:5:2, np.newaxis]) * self.second
        first = (self.linear + inverse_q2) * square
        away = 1.0 - self.second * square
        # Summed so, it stays above zero however sharp a resonance is tried.
        inside = away * away + first
        scaled = _DB / (inside * points.standard)
        jacobian = self.fixed.copy()
        jacobian[:, 1:5:2, :count] = -_SIGN * (first - 2.0 * self.second * square * away) * scaled
        jacobian[:, 2:5:2, :count] = 2.0 * inverse_q2 * square * scaled
        shared = parameters[:, _SHAPES.size :]
        residuals = np.empty((len(self.orders), count + shared.shape[1]))
        modelled = parameters[:, :1] - _DB * np.log(inside).sum(axis=1) + shared @ points.shared
        residuals[:, :count] = (points.levels - modelled) / points.standard
        residuals[:, count:] = -shared
        return residuals, jacobian

    def _weights(self, residuals: FloatArray) -> FloatArray:
        """Weights by which plain squares have the gradient of Huber's loss."""
        weights = HUBER_RESIDUAL / np.maximum(np.abs(residuals), HUBER_RESIDUAL)
        weights[:, self.points.hertz.size :] = 1.0
        return weights

    def _losses(self, residuals: FloatArray) -> FloatArray:
        """Huber's loss of the readings and the squares of the shared errors."""
        count = self.points.hertz.size
        size = np.abs(residuals[:, :count])
        inner = np.minimum(size, HUBER_RESIDUAL)
        loss: FloatArray = np.sum(inner * (2.0 * size - inner), axis=1)
        loss += np.sum(residuals[:, count:] ** 2, axis=1)
        return loss


def _starts(points: ResponsePoints, side: Side, most: int) -> list[tuple[int, float, float]]:
    """Order, ln corner and ln Q to start from: corners from the outermost level."""
    middle = float(np.median(points.levels))
    outermost = np.argmin(points.hertz) if side == "low" else np.argmax(points.hertz)
    own = points.hertz < points.reference_hertz
    levels = points.levels[own if side == "low" else ~own]
    peaked = levels.size > 0 and float(levels.max()) - middle > _PEAK_DB
    drop = min(max(middle - float(points.levels[outermost]), 0.2), 30.0)
    found = [(0, 0.0, 0.0)]
    for order, q in ((1, 1.0), (2, 0.6), (2, 1.6)):
        if order > most or (q > 1.0 and not peaked):
            continue
        factor = math.log(math.expm1(drop / _DB)) * 0.5 / order
        corner = math.log(float(points.hertz[outermost]))
        corner += factor if side == "low" else -factor
        found.append((order, corner, math.log(q)))
    return found
