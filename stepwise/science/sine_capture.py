"""A captured sine: its frequency, its harmonics, its distortion and what is left as noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.converter import converter_step, left_by_steps, without_steps
from stepwise.science.converter_limit import OffScreen, off_screen
from stepwise.science.domain import FloatArray, positive
from stepwise.science.noise import a_weighted_volts
from stepwise.science.sine_fit import fitted_cycles, fitted_lines, orders_below, sharpened_cycles
from stepwise.science.sine_lines import Harmonic, Lines
from stepwise.science.sine_shape import Clipping, Period, clipping, from_zero, laid_period
from stepwise.science.sine_steps import step_errors
from stepwise.science.wave_kind import refuse_no_sine

_FEWEST_PERIODS = 2.0
_SAMPLES_A_PERIOD = 8
_PART_OF_A_PERIOD = 0.02
"""A record that is this much short of a whole period still counts as one."""
_ORDERS_OF_THD = 40
"""Harmonics that the distortion counts, whatever the table shows: a wave that just clips has
most of its distortion above the tenth."""
_MOST_SAMPLES = 16_384
"""Samples, averaged ones where there are more, that harmonics are fitted to."""
_KEPT_A_PERIOD = 64
"""Samples of a period that averaging leaves, so that no harmonic folds onto an early one."""
_MOST_FOR_NOISE = 16_384
_STEEP = 0.7
"""Share of the peak below which a wave, clipped or not, is steep."""
_DENSE = 1024
"""Places of a period that are looked at for its peaks."""


@dataclass(frozen=True, slots=True)
class SineStandard:
    """Standard uncertainties of an analysis, from scatter and from the steps of the converter."""

    hertz: float
    """[Hz]"""
    mean_volts: float
    """[V]"""
    rms_volts: float
    """[V RMS]"""
    thd_percent: float
    """[%]"""
    peak_volts: float
    """Of either peak [V]."""
    noise_volts: float
    """Of the noise [V RMS]."""
    noise_a_volts: float
    """Of the A-weighted noise [V RMS]."""


@dataclass(frozen=True, slots=True)
class SineAnalysis:
    """What a captured sine is made of."""

    hertz: float
    """Frequency of the fundamental [Hz]."""
    periods: int
    """Whole periods that were used [1]."""
    mean_volts: float
    """Mean [V]."""
    rms_volts: float
    """RMS of fundamental and harmonics, without noise [V]."""
    harmonics: tuple[Harmonic, ...]
    """The fundamental and what follows, as far as sampling allows."""
    thd_percent: float
    """Harmonics up to the fortieth over the fundamental, less what noise adds to them [%]."""
    thd_n_percent: float
    """Harmonics and noise over the fundamental [%]."""
    noise_volts: float
    """What is neither mean, fundamental nor a harmonic, up to half the sample rate [V RMS]."""
    noise_a_volts: float
    """The same, A-weighted [V RMS]."""
    noise_band_hertz: tuple[float, float]
    """What of the spectrum the weighting saw: one period in the stretch that was looked at, and
    half the sample rate [Hz]."""
    positive_peak_volts: float
    """Highest point of the mean period above the record's zero [V]: rails and screen are seen
    from there."""
    negative_peak_volts: float
    """Lowest point of it below that zero [V], as a positive number."""
    clipping: Clipping | None
    """Where the tops begin to flatten, from that zero; None with too few samples to tell."""
    off_screen: OffScreen
    """Where the trace runs into the limit of the converter, or the amplifier into its own."""
    standard: SineStandard
    """How sure these figures are."""

    @property
    def crest_factor(self) -> float:
        """Larger peak about the mean over RMS [1]; 1.414 for a sine, less when clipped."""
        above = self.positive_peak_volts - self.mean_volts
        below = self.negative_peak_volts + self.mean_volts
        return max(above, below) / self.rms_volts

    @property
    def asymmetry_percent(self) -> float:
        """Positive less negative peak about the mean, over their mean [%]: unequal clipping."""
        both = self.positive_peak_volts + self.negative_peak_volts
        more = self.positive_peak_volts - self.negative_peak_volts - 2.0 * self.mean_volts
        return 200.0 * more / both


def analyse_sine(volts: ArrayLike, sample_hertz: float, highest_order: int = 10) -> SineAnalysis:
    """Take a captured sine apart.

    The frequency is fitted, the record cut to whole periods, and mean and harmonics are found
    together by least squares, so that nothing leaks from one line to another.

    Args:
        volts: Samples at equal intervals [V], shape (n,), at least two periods.
        sample_hertz: Samples a second [Hz], > 0.
        highest_order: Last harmonic of the table [1], >= 2, default 10; fewer where sampling
            ends.

    Returns:
        The analysis.

    Raises:
        OtherWave: It looks like a square wave (harmonics above 40 % of the fundamental, more than
            a sine has that is cut off at a fifth of its peak) or a triangle.
        ValueError: Fewer than two periods, fewer than eight samples a period, no signal, or
            values that are not usable.

    Source:
        Four-parameter sine fit, IEEE Std 1057 (from memory), extended to harmonics; THD over
        the fundamental.

    Example:
        >>> t = np.arange(2000) / 48e3
        >>> wave = np.sin(6283.185 * t) + 0.01 * np.sin(3 * 6283.185 * t)
        >>> round(analyse_sine(wave, 48e3).thd_percent, 3)
        1.0
    """
    samples = _checked(volts)
    rate = positive(sample_hertz, "sample_hertz")
    each = _averaged_together(samples)
    samples = samples[: each * _MOST_SAMPLES]
    thin = samples[: samples.size // each * each].reshape(-1, each).mean(axis=1)
    cycles = fitted_cycles(thin)
    if cycles * _SAMPLES_A_PERIOD > each:
        raise ValueError("the capture holds fewer than eight samples a period")
    cycles = sharpened_cycles(thin, cycles)
    periods = int(cycles * thin.size + _PART_OF_A_PERIOD)
    if periods < _FEWEST_PERIODS:
        raise ValueError("the capture holds fewer than two whole periods")
    thin = thin[: round(periods / cycles)]
    orders = orders_below(cycles, max(highest_order, _ORDERS_OF_THD), thin.size)
    mean, lines, residual = fitted_lines(thin, cycles, orders)
    refuse_no_sine(lines)
    fit = _Fit(cycles / each, periods, mean, _unaveraged(lines, cycles / each, each), each)
    scatter = float(np.sqrt(residual @ residual / max(thin.size - 2 * len(lines) - 1, 1)))
    used = samples[: round(periods * each / cycles)]
    return _described(used, rate, fit, scatter, max(highest_order, 2))


@dataclass(frozen=True, slots=True)
class _Fit:
    """Mean and lines of a record."""

    cycles: float
    """Periods a sample of the record [1]."""
    periods: int
    mean: float
    lines: dict[int, complex]
    """Order -> complex peak amplitude [V], phases as of the averaged samples."""
    each: int
    """Samples averaged into one."""


def _averaged_together(samples: FloatArray) -> int:
    """How many samples may be averaged into one, so that a long record is quick to fit."""
    if samples.size <= _MOST_SAMPLES:
        return 1
    low, high = float(samples.min()), float(samples.max())
    # an eighth to either side of the middle, so that noise about it does not count
    is_high, is_low = samples > low + 0.625 * (high - low), samples < low + 0.375 * (high - low)
    settled = np.flatnonzero(is_high | is_low)
    state = is_high[settled]
    changes = max(int(np.count_nonzero(state[1:] != state[:-1])), 1)
    period = 2.0 * samples.size / changes
    return max(1, min(int(period / _KEPT_A_PERIOD), math.ceil(samples.size / _MOST_SAMPLES)))


def _unaveraged(lines: dict[int, complex], cycles: float, each: int) -> dict[int, complex]:
    """Undo what averaging neighbours took from each line."""
    if each == 1:
        return lines
    half_turn = {order: math.pi * order * cycles for order in lines}
    return {
        order: line * each * math.sin(half_turn[order]) / math.sin(each * half_turn[order])
        for order, line in lines.items()
    }


def _checked(volts: ArrayLike) -> FloatArray:
    samples = np.asarray(volts, dtype=np.float64)
    if samples.ndim != 1 or samples.size < 2 * _SAMPLES_A_PERIOD:
        raise ValueError("volts must be one row of at least sixteen samples")
    if not np.isfinite(samples).all():
        raise ValueError("volts must be finite numbers")
    if not np.ptp(samples) > 0.0:
        raise ValueError("the capture holds no signal")
    return samples


def _described(
    used: FloatArray, rate: float, fit: _Fit, scatter: float, highest_order: int
) -> SineAnalysis:
    """Put amplitudes into a table, and say how sure they are."""
    fundamental, hertz = abs(fit.lines[1]), rate * fit.cycles
    fitted = used.size / fit.each
    wave, left = _wave_and_left(used, fit)
    least = 1e-12 * fundamental  # where arithmetic ends
    noise = max(float(np.sqrt(left @ left / left.size)), least)
    step = converter_step(used)
    own = _own_noise(wave, left, step)
    values = np.array(list(fit.lines.values()))
    period = _period(used, fit, noise)
    course = _course(fit, period)
    unevened = left_by_steps(step, own)
    cut = None if period is None else clipping(period, unevened)
    flat = _flattened(course, cut, step)
    steps = step_errors(flat, values.size, (fit.cycles, used.size), step, own)
    lines = Lines(values, scatter * math.sqrt(2.0 / fitted), steps)
    weighted, weighted_standard = a_weighted_volts(left, rate)
    of_cell = noise if period is None else 2.0 * period.standard_volts
    above, below, standard_peak = _peaks(course, fit, wave, of_cell)
    thd, standard_thd = lines.thd()
    of_mean = noise / math.sqrt(used.size)
    rms, standard_rms = lines.rms(of_mean)
    duration = used.size / rate
    return SineAnalysis(
        hertz=hertz,
        periods=fit.periods,
        mean_volts=fit.mean,
        rms_volts=rms,
        harmonics=lines.table(hertz, highest_order),
        thd_percent=thd,
        thd_n_percent=math.hypot(thd, 100.0 * noise * math.sqrt(2.0) / fundamental),
        noise_volts=noise,
        noise_a_volts=max(weighted, least),
        noise_band_hertz=(rate / left.size, 0.5 * rate),
        positive_peak_volts=fit.mean + above,
        negative_peak_volts=below - fit.mean,
        clipping=cut and from_zero(cut, fit.mean),
        off_screen=off_screen(used, step, own),
        standard=SineStandard(
            # the bound of Cramer and Rao for a sine in white noise
            hertz=math.sqrt(6.0 / fitted) * scatter / fundamental / (math.pi * duration),
            mean_volts=math.hypot(of_mean, float(np.sqrt(np.mean(steps.mean**2)))),
            rms_volts=standard_rms,
            thd_percent=standard_thd,
            peak_volts=math.hypot(standard_peak, unevened),
            noise_volts=noise / math.sqrt(2.0 * left.size),
            noise_a_volts=weighted_standard,
        ),
    )


def _own_noise(wave: FloatArray, left: FloatArray, step: float) -> float:
    """Noise without what steps add to it [V RMS].

    On the steep parts a wave crosses all of a step, so that this adds step / sqrt(12); on a flat
    top it may add nothing, or much more.
    """
    steep = np.abs(wave) < _STEEP * np.abs(wave).max()
    return without_steps(float(np.sqrt(np.mean(left[steep] ** 2))), step)


def _period(used: FloatArray, fit: _Fit, noise: float) -> Period | None:
    """The mean period, from averaged samples where there are plenty."""
    thin = used[: used.size // fit.each * fit.each].reshape(-1, fit.each).mean(axis=1)
    scatter = noise / math.sqrt(fit.each)
    return laid_period(thin, fit.cycles * fit.each, fit.mean, scatter)


def _wave_and_left(used: FloatArray, fit: _Fit) -> tuple[FloatArray, FloatArray]:
    """The fitted lines over a stretch of the record, and what it has beside them and the mean."""
    stretch = used[:_MOST_FOR_NOISE]
    # the lines' phases count from the middle of the first averaged samples
    turns = fit.cycles * (np.arange(stretch.size, dtype=np.float64) - 0.5 * (fit.each - 1))
    wave = _wave(fit, turns)
    return wave, stretch - fit.mean - wave


def _wave(fit: _Fit, turns: FloatArray) -> FloatArray:
    """The fitted lines at places of the period [V]."""
    first = np.exp(2j * math.pi * turns)
    total = np.zeros_like(first)
    for order in range(max(fit.lines), 0, -1):  # Horner's scheme
        total = (total + fit.lines[order]) * first
    wave: FloatArray = total.real
    return wave


def _course(fit: _Fit, period: Period | None) -> FloatArray:
    """One period about the mean [V], at the middles of `_DENSE` parts.

    The lines show what lies between samples, and cells of the mean period what lines smooth.
    """
    wave = _wave(fit, _dense())
    if period is None:
        return wave
    cells = period.volts - _wave(fit, period.turns)
    course: FloatArray = wave + np.interp(_dense(), period.turns, cells, period=1.0)
    return course


def _dense() -> FloatArray:
    places: FloatArray = (np.arange(_DENSE) + 0.5) / _DENSE
    return places


def _flattened(course: FloatArray, cut: Clipping | None, step: float) -> FloatArray:
    """The course with tops that are cut off as flat as they are: lines ripple there."""
    if cut is None:
        return course
    highest = math.inf if cut.positive_volts is None else cut.positive_volts
    lowest = -math.inf if cut.negative_volts is None else -cut.negative_volts
    half = 0.5 * step
    flat = course.copy()
    flat[course > highest - half] = highest
    flat[course < lowest + half] = lowest
    return flat


def _peaks(
    course: FloatArray, fit: _Fit, wave: FloatArray, cell: float
) -> tuple[float, float, float]:
    """Positive and negative peak about the mean and their standard uncertainty [V].

    Sampled in step with the wave, a record shows few places of a period. Between them lines may
    overshoot a corner, and samples may miss a crest: the truth lies between what both show.
    """
    dense = _wave(fit, _dense())
    missed = max(float(dense.max() - wave.max()), 0.0), max(float(wave.min() - dense.min()), 0.0)
    above, below = float(course.max()) - 0.5 * missed[0], -float(course.min()) - 0.5 * missed[1]
    return above, below, math.hypot(cell, 0.5 * max(missed))
