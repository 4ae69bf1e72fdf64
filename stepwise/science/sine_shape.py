"""One mean period of a captured wave: its peaks, and where its tops begin to flatten."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from stepwise.science.domain import FloatArray
from stepwise.science.least_squares import minimise

_MOST_CELLS = 256
_SAMPLES_A_CELL = 16
_FEWEST_CELLS = 32
_UNCLIPPED = 0.6
"""Share of the lower peak below which a wave is taken as not yet clipped."""
_FEWEST_STEEP = 8
_CUT_ORDERS, _SMOOTH_ORDERS = 3, 7
"""Harmonics beside a cut, and without one."""
_USUAL_HARMONIC = 0.02
"""Share of the fundamental that a harmonic beside a cut usually is (standard deviation)."""
_SHALLOWEST = 0.003
"""Share of the level by which a cut top falls short, at least."""
_SURELY_STEPS = 3.5
_SURELY = 25.0
"""Rise of the sum of squares without the cut from which on it is not chance."""
_LEAST_NOISE = 1e-4
"""Share of the peak below which no mean period is known, whatever its samples' scatter."""


@dataclass(frozen=True, slots=True, eq=False)
class Period:
    """All periods of a record laid over one another, about the record's mean."""

    turns: FloatArray
    """Mean place of the samples in each cell [periods], shape (n,), from 0 to 1."""
    volts: FloatArray
    """Mean of the samples in each cell, about the mean of all [V], shape (n,)."""
    standard_volts: float
    """Standard uncertainty of a cell from the scatter of its samples [V]."""


@dataclass(frozen=True, slots=True)
class Clipping:
    """How far the tops of a wave are cut off."""

    positive_volts: float | None
    """Level at which the positive top begins to fall short, above zero [V]; None where it does
    not. As `clipping` finds it zero is the record's mean, else the record's own (`from_zero`)."""
    negative_volts: float | None
    """The same of the negative top, below zero, as a positive number [V]."""
    overdrive: float
    """Peak that the uncut sine would have, over the lower peak that is there, both about the
    middle of that sine [1]; 1 where nothing is cut off."""


def from_zero(cut: Clipping, mean: float) -> Clipping:
    """Levels about the mean as levels from the record's own zero.

    Args:
        cut: As `clipping` finds it.
        mean: Mean of the record [V].
    """
    above, below = cut.positive_volts, cut.negative_volts
    return replace(
        cut,
        positive_volts=None if above is None else above + mean,
        negative_volts=None if below is None else below - mean,
    )


def laid_period(samples: FloatArray, cycles: float, mean: float, noise: float) -> Period | None:
    """Lay the periods of a record over one another.

    Args:
        samples: The record [V], shape (n,).
        cycles: Periods a sample [1].
        mean: Mean of the record [V].
        noise: Scatter of a sample [V RMS].

    Returns:
        The mean period; None where there are too few samples, or they always fall on the same
        few instants of it.
    """
    turns = (cycles * np.arange(samples.size)) % 1.0
    cells = min(_MOST_CELLS, samples.size // _SAMPLES_A_CELL)
    while cells >= _FEWEST_CELLS:
        place = np.minimum((turns * cells).astype(np.int64), cells - 1)
        counts = np.bincount(place, minlength=cells)
        if counts.min() > 0:
            break
        # sampled in step with the wave, so that all periods show the same few instants
        cells -= max(1, cells // 8)
    else:
        return None
    within = np.bincount(place, weights=turns, minlength=cells) / counts
    volts = np.bincount(place, weights=samples, minlength=cells) / counts - mean
    return Period(within, volts, noise / math.sqrt(float(counts.min())))


def clipping(period: Period, steps: float = 0.0) -> Clipping:
    """Where the tops of a wave are cut off.

    Two accounts of the mean period compete: a sine with a little second and third harmonic whose
    tops are cut off at two levels, and one with smooth harmonics up to the seventh and nothing
    cut off. A flat top has harmonics far up whose phases all make it flat; what is bent softly,
    or at its crossing of zero, has not, and the second account is the better one.

    Args:
        period: One mean period.
        steps: What steps of the converter leave of their height however many samples are
            averaged [V], default 0.

    Returns:
        The clipping; a top counts as clipped when it is cut off by more than 0.3 % of its peak
        and by more than steps explain, far beyond what noise explains, and the cut tells the
        period better than smooth harmonics do.

    Source:
        Akaike's criterion for the choice of account (from memory); thresholds common practice,
        no source.
    """
    fit = _CutFit.of(period)
    if fit is None:
        return Clipping(None, None, 1.0)
    both = fit.cut(positive=True, negative=True)
    smooth = fit.smooth_cost(_SMOOTH_ORDERS) + 2.0 * (1 + 2 * _SMOOTH_ORDERS)
    if not both.cost + 2.0 * (3 + 2 * _CUT_ORDERS) < smooth:
        return Clipping(None, None, 1.0)
    levels: list[float | None] = []
    overdrive = 1.0
    for is_positive in (True, False):
        level, crest = both.side(is_positive)
        without = fit.cut(positive=not is_positive, negative=is_positive)
        is_deep = crest - level > max(_SHALLOWEST * level, _SURELY_STEPS * steps)
        is_cut = is_deep and without.cost - both.cost > _SURELY
        levels.append(level if is_cut else None)
        # unequal tops move the mean away from the middle of the sine behind them
        middle = both.middle if is_positive else -both.middle
        more = (crest - middle) / (level - middle)
        overdrive = max(overdrive, more) if is_cut else overdrive
    return Clipping(levels[0], levels[1], overdrive)


@dataclass(frozen=True, slots=True, eq=False)
class _Cut:
    """A fitted wave whose tops are cut off."""

    cost: float
    middle: float
    """Of the wave before it is cut, about the mean of what is there [V]."""
    highest: float
    """Of the wave before it is cut [V]."""
    lowest: float
    positive_volts: float
    negative_volts: float
    """Where it is cut, as a positive number [V]."""

    def side(self, is_positive: bool) -> tuple[float, float]:
        """Level and crest of one top, upwards."""
        if is_positive:
            return self.positive_volts, self.highest
        return self.negative_volts, -self.lowest


@dataclass(frozen=True, slots=True, eq=False)
class _CutFit:
    """What fits of one period have in common."""

    angle: FloatArray
    volts: FloatArray
    noise: float
    start: FloatArray
    """Mean, cosine and sine of what fits the steep parts."""

    @classmethod
    def of(cls, period: Period) -> _CutFit | None:
        volts, angle = period.volts, 2.0 * math.pi * period.turns
        lower = min(float(volts.max()), -float(volts.min()))
        steep = np.abs(volts) < _UNCLIPPED * lower
        if np.count_nonzero(steep) < _FEWEST_STEEP:
            return None
        design = _columns(angle, 1)
        start, *_ = np.linalg.lstsq(design[steep], volts[steep], rcond=None)
        noise = max(period.standard_volts, _LEAST_NOISE * lower)
        return cls(angle, volts, noise, np.asarray(start, dtype=np.float64))

    def smooth_cost(self, orders: int) -> float:
        """Sum of squares that harmonics leave, over the noise."""
        design = _columns(self.angle, orders)
        found, *_ = np.linalg.lstsq(design, self.volts, rcond=None)
        return float(np.sum(((self.volts - design @ found) / self.noise) ** 2))

    def cut(self, *, positive: bool, negative: bool) -> _Cut:
        """The best wave whose tops are cut off, or only one of them."""
        design = _columns(self.angle, _CUT_ORDERS)
        count = design.shape[1]
        above, below = float(self.volts.max()), -float(self.volts.min())
        far = 10.0 * max(above, below)
        starts = np.zeros(count)
        starts[:3] = self.start
        begin = np.array([*starts, above if positive else far, below if negative else far])
        size = float(np.hypot(*self.start[1:]))
        # harmonics that hide behind the cut must not raise a crest there
        tie = np.zeros((count - 3, count + 2))
        tie[:, 3:count] = np.eye(count - 3) / (_USUAL_HARMONIC * size)

        def model(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
            wave = design @ parameters[:count]
            is_high, is_low = wave > parameters[count], wave < -parameters[count + 1]
            columns = np.zeros((wave.size, parameters.size))
            columns[:, :count] = np.where((is_high | is_low)[:, np.newaxis], 0.0, design)
            columns[:, count], columns[:, count + 1] = is_high, -1.0 * is_low
            cut = np.where(is_high, parameters[count], wave)
            cut = np.where(is_low, -parameters[count + 1], cut)
            left = np.concatenate(((cut - self.volts) / self.noise, tie @ parameters))
            return left, np.concatenate((columns / self.noise, tie))

        found = minimise(model, begin, close=1e-9)
        wave = design @ found.parameters[:count]
        return _Cut(
            found.cost, float(found.parameters[0]), float(wave.max()), float(wave.min()),
            float(found.parameters[count]), float(found.parameters[count + 1]),
        )  # fmt: skip


def _columns(angle: FloatArray, orders: int) -> FloatArray:
    """A mean, and cosine and sine of each order."""
    columns = [np.ones_like(angle)]
    for order in range(1, orders + 1):
        columns += [np.cos(order * angle), np.sin(order * angle)]
    return np.column_stack(columns)
