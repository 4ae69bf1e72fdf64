"""A captured edge read through a model of its whole course, where one describes it.

Two crossings of one or two short edges rest on a handful of samples each. A model that follows
all samples of an edge, and where each edge began, tells its duration several times more surely.
Which model is right is not known beforehand: those that fit are weighed against one another, and
how far they disagree is part of the uncertainty.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from stepwise.science.domain import FloatArray
from stepwise.science.least_squares import Minimum, Model, minimise
from stepwise.science.pulse_edge import Edge, Read

_BEFORE, _AFTER = 1.5, 2.0
"""Durations about the middle of an edge that are fitted: as far as its first crest."""
_MOST_EDGES = 16
_FEWEST_ON_EDGE = 6
"""Samples between the states, of all edges."""
_MOST_SAMPLES = 4000
"""Beyond them two crossings are sure enough, and quicker."""
_SMALL = 1e-4
"""Step of a derivative by a logarithm of a shape."""
_APART = 1e-4
"""Relative distance of poles below which their response cannot be computed apart."""
_BLOCKS, _FEWEST_IN_BLOCK = 24, 3
"""Stretches of an edge whose mean residuals tell whether a model describes it."""
_LIKELY = 4.0
"""Standard deviations that their sum of squares may be beyond its expectation."""
_WILD = 1.5
"""Mean square of the residuals, over that of the noise, from which on edges differ."""
_UNLIKE = 0.005
"""Relative standard uncertainty from what a model that describes the samples still misses: in
the mean of many captures of filters of four and six poles, which have no model of their own, up
to 0.5 % was found."""
_GRID = 1500
_USUALLY, _FARTHEST = 3.0, 6.0
"""Factor by which shapes scatter (standard deviation), and greatest logarithm of one."""

Response = Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]
"""Times from the onset [durations], logarithms of a shape -> share and its slope."""


def _poles(times: FloatArray, poles: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Step response of poles [1/duration] and its slope, by partial fractions."""
    spread: list[complex] = (poles * (1.0 + _APART * np.arange(poles.size))).tolist()
    after = np.maximum(times, 0.0)
    share, slope = np.ones(times.size, complex), np.zeros(times.size, complex)
    for place, pole in enumerate(spread):
        # plain numbers: an array of two or three costs more than all else here
        weight = -1.0 + 0.0j
        for other in (*spread[:place], *spread[place + 1 :]):
            weight *= other / (other - pole)
        decay = weight * np.exp(pole * after)
        share += decay
        slope += pole * decay
    is_after = times > 0.0
    return np.where(is_after, share.real, 0.0), np.where(is_after, slope.real, 0.0)


def _pair(constants: float, ratio: float) -> list[complex]:
    """Two poles by the sum of their time constants and their damping ratio.

    The sum stays as it is while a large ratio makes one of them vanish.
    """
    natural = 2.0 * ratio / constants
    root = np.sqrt(complex(ratio * ratio - 1.0))
    return [-natural * (ratio + root), -natural * (ratio - root)]


def _one_pole(times: FloatArray, shape: FloatArray) -> tuple[FloatArray, FloatArray]:
    return _poles(times, np.array([-np.exp(shape[0])], complex))


def _two_poles(times: FloatArray, shape: FloatArray) -> tuple[FloatArray, FloatArray]:
    constants, ratio = np.exp(shape)
    return _poles(times, np.array(_pair(constants, ratio)))


def _three_poles(times: FloatArray, shape: FloatArray) -> tuple[FloatArray, FloatArray]:
    constants, ratio, third = np.exp(shape)
    return _poles(times, np.array([*_pair(constants, ratio), -1.0 / third]))


def _two_poles_and_zero(times: FloatArray, shape: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Part of the wave goes round one pole, so that the edge begins with a slope."""
    poles = np.array(_pair(float(np.exp(shape[0])), float(np.exp(shape[1]))))
    share, slope = _poles(times, poles)
    lead = np.exp(shape[2])
    # of two poles the second derivative follows from the differential equation
    bend = np.where(times > 0.0, (np.prod(poles) * (1.0 - share) + np.sum(poles) * slope).real, 0.0)
    return share + lead * slope, slope + lead * bend


def _ramp_and_pole(times: FloatArray, shape: FloatArray) -> tuple[FloatArray, FloatArray]:
    """A straight edge of a length, through one pole: an amplifier at its slew rate."""
    length, constant = np.exp(shape)

    def integral(at: FloatArray) -> tuple[FloatArray, FloatArray]:
        after = np.maximum(at, 0.0)
        settled = -np.expm1(-after / constant)
        return after - constant * settled, settled

    (begun, rate), (ended, rate_ended) = integral(times), integral(times - length)
    return (begun - ended) / length, (rate - rate_ended) / length


@dataclass(frozen=True, slots=True)
class _Family:
    """Edges of one kind, their shapes as logarithms for an edge of unit duration."""

    response: Response
    usual: tuple[float, ...]
    """What its shape usually is, within a factor of `_USUALLY`: what samples do not tell, such
    as a second pole far out, must not make the duration uncertain."""
    starts: tuple[tuple[float, ...], ...]


def _family(response: Response, usual: tuple[float, ...], *others: tuple[float, ...]) -> _Family:
    logs = [tuple(math.log(each) for each in shape) for shape in (usual, *others)]
    return _Family(response, logs[0], tuple(logs))


_FAMILIES = (
    _family(_one_pole, (math.log(9.0),)),
    _family(_two_poles, (0.6, 1.0), (0.6, 0.5)),
    _family(_three_poles, (0.45, 0.8, 0.3), (0.5, 0.5, 0.16), (0.33, 1.0, 0.45)),
    _family(_two_poles_and_zero, (0.6, 0.7, 0.12)),
    _family(_ramp_and_pole, (1.0, 0.15), (0.3, 0.45)),
)


def shaped(edge: Edge, noise: float, state: float) -> Read | None:
    """Duration of an edge from 10 % to 90 % by the models that describe it.

    Args:
        edge: The edge.
        noise: Standard deviation of a sample, share of the amplitude [1].
        state: Standard uncertainty of either state, share of the amplitude [1].

    Returns:
        The duration [samples]; None where no model describes the samples, or they are too few.
    """
    seen = _Seen.of(edge, noise)
    if seen is None:
        return None
    fits = [fit for family in _FAMILIES if (fit := seen.fitted(family, state))]
    if not fits:
        return None
    costs = np.array([fit.cost for fit in fits])
    best = fits[int(np.argmin(costs))]
    if not best.describes:
        return None
    weights = np.exp(-0.5 * (costs - costs.min()))
    weights /= weights.sum()
    values = np.array([fit.duration for fit in fits])
    variances = np.array([fit.standard for fit in fits]) ** 2
    mean = float(weights @ values)
    standard = math.sqrt(float(weights @ (variances + (values - mean) ** 2)))
    return Read(mean * seen.scale, standard * seen.scale)


@dataclass(frozen=True, slots=True)
class _ShapeFit:
    duration: float
    standard: float
    """[durations of the edge as single samples show it]"""
    cost: float
    """Sum of squares and twice the parameters: Akaike's criterion."""
    describes: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """The samples about an edge, in its own duration."""

    times: FloatArray
    shares: FloatArray
    which: FloatArray
    """Place of a sample's edge, shape (n, edges), 1 or 0."""
    noise: float
    scale: float

    @classmethod
    def of(cls, edge: Edge, noise: float) -> _Seen | None:
        scale = max(edge.duration, 1.0)
        inside = (edge.times > -_BEFORE * scale) & (edge.times < _AFTER * scale)
        inside &= edge.which < _MOST_EDGES
        shares = edge.shares[inside]
        on_edge = np.count_nonzero((shares > 0.05) & (shares < 0.95))
        if not noise > 0.0 or on_edge < _FEWEST_ON_EDGE or shares.size > _MOST_SAMPLES:
            return None
        _, place = np.unique(edge.which[inside], return_inverse=True)
        which = np.eye(int(place.max()) + 1)[place]
        return cls(edge.times[inside] / scale, shares, which, noise, scale)

    def fitted(self, family: _Family, state: float) -> _ShapeFit | None:
        """One family, from the start that leads farthest down."""
        model = self._model(family)
        minima = []
        for start in family.starts:
            middle = _crossings(family.response, np.array(start), (0.5,))
            onset = 0.0 if middle is None else -middle[0]
            begin = np.array([*start, *np.full(self.which.shape[1], onset)])
            minima.append(minimise(model, begin, close=1e-6))
        return self._read(family, min(minima, key=lambda each: each.cost), state)

    def _model(self, family: _Family) -> Model:
        size, width = len(family.usual), math.log(_USUALLY)

        def residuals(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
            shape = np.clip(parameters[:size], -_FARTHEST, _FARTHEST)
            times = self.times - self.which @ parameters[size:]
            share, slope = family.response(times, shape)
            columns = np.zeros((self.times.size + size, parameters.size))
            for place in range(size):
                moved = shape.copy()
                moved[place] += _SMALL
                columns[:-size, place] = (family.response(times, moved)[0] - share) / _SMALL
            columns[:-size, size:] = -slope[:, np.newaxis] * self.which
            columns[:-size] /= self.noise
            columns[-size:, :size] = np.eye(size) / width
            left = (share - self.shares) / self.noise
            return np.concatenate((left, (parameters[:size] - family.usual) / width)), columns

        return residuals

    def _read(self, family: _Family, found: Minimum, state: float) -> _ShapeFit | None:
        response, size = family.response, len(family.usual)
        shape = np.clip(found.parameters[:size], -_FARTHEST, _FARTHEST)
        duration = _duration(response, shape)
        if duration is None or not np.isfinite(found.covariance).all():
            return None
        by_shape = np.zeros(found.parameters.size)
        for place in range(size):
            moved = shape.copy()
            moved[place] += _SMALL
            longer = _duration(response, moved)
            if longer is None:
                return None
            by_shape[place] = (longer - duration) / _SMALL
        columns = self._model(family)(found.parameters)[1][:-size]
        # what the state that is left or reached is off pulls all samples near it
        pull = by_shape @ found.covariance @ columns.T / self.noise
        share = self.shares.clip(0.0, 1.0)
        levels = state * math.hypot(float(pull @ share), float(pull @ (1.0 - share)))
        scatter = math.sqrt(float(by_shape @ found.covariance @ by_shape))
        standard = math.hypot(scatter, levels, _UNLIKE * duration)
        describes = self._is_described(found.residuals[:-size])
        return _ShapeFit(duration, standard, found.cost + 2.0 * size, describes)

    def _is_described(self, residuals: FloatArray) -> bool:
        """Whether nothing but noise is left, whose own size is known to a few percent only."""
        count = min(_BLOCKS, residuals.size // _FEWEST_IN_BLOCK)
        blocks = np.array_split(residuals, count)
        squares = sum(float(block.sum()) ** 2 / block.size for block in blocks)
        wild = float(residuals @ residuals) > _WILD * residuals.size
        return not wild and squares < count + _LIKELY * math.sqrt(2.0 * count)


def _duration(response: Response, shape: FloatArray) -> float | None:
    """From 10 % to 90 %, in the unit of the shape."""
    crossed = _crossings(response, shape, (0.1, 0.9))
    return None if crossed is None else crossed[1] - crossed[0]


def _crossings(
    response: Response, shape: FloatArray, levels: tuple[float, ...]
) -> tuple[float, ...] | None:
    """Where a step response first reaches levels; None where it does not within the grid."""
    times = np.linspace(0.0, 6.0, _GRID)
    share, _ = response(times, shape)
    found = []
    for level in levels:
        place = int(np.argmax(share >= level))
        if place == 0:
            return None
        part = (level - share[place - 1]) / (share[place] - share[place - 1])
        at = times[place - 1 : place] + part * (times[place] - times[place - 1])
        for _ in range(2):  # Newton's steps, so that a derivative by the shape is smooth
            near, slope = response(at, shape)
            at = at + (level - near) / slope if slope[0] > 0.0 else at
        found.append(float(at[0]))
    return tuple(found)
