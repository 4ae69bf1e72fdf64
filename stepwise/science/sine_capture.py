"""A captured sine: its frequency, its harmonics, its distortion and what is left as noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, positive
from stepwise.science.least_squares import minimise

_FEWEST_PERIODS = 2.0
_SAMPLES_A_PERIOD = 8
_PART_OF_A_PERIOD = 0.02
"""A record that is this much short of a whole period still counts as one."""
_SHARPENINGS = 6
_ORDERS_BESIDE = 15
"""Harmonics fitted while the frequency is: later ones are too weak to pull it."""


@dataclass(frozen=True, slots=True)
class Harmonic:
    """One line of a table of harmonics."""

    order: int
    """1 for the fundamental."""
    hertz: float
    """Frequency [Hz]."""
    rms_volts: float
    """Amplitude [V RMS]."""
    percent: float
    """Amplitude over that of the fundamental [%]."""
    phase_rad: float
    """Phase as a cosine about the crest of the fundamental [rad], -pi to pi."""


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
    """RMS of all but the mean [V]."""
    harmonics: tuple[Harmonic, ...]
    """The fundamental and what follows, as far as sampling allows."""
    thd_percent: float
    """Harmonics over the fundamental [%]."""
    thd_n_percent: float
    """Harmonics and noise over the fundamental [%]."""
    noise_volts: float
    """What is neither mean, fundamental nor a listed harmonic [V RMS]."""
    positive_peak_volts: float
    """Highest sample above the mean [V]."""
    negative_peak_volts: float
    """Lowest sample below the mean [V], as a positive number."""

    @property
    def crest_factor(self) -> float:
        """Larger peak over RMS [1]; 1.414 for a sine, less when clipped."""
        return max(self.positive_peak_volts, self.negative_peak_volts) / self.rms_volts

    @property
    def asymmetry_percent(self) -> float:
        """Positive less negative peak over their mean [%]; unequal clipping shows here."""
        both = self.positive_peak_volts + self.negative_peak_volts
        return 200.0 * (self.positive_peak_volts - self.negative_peak_volts) / both


def analyse_sine(volts: ArrayLike, sample_hertz: float, highest_order: int = 10) -> SineAnalysis:
    """Take a captured sine apart.

    The frequency is fitted, the record cut to whole periods, and mean and harmonics are found
    together by least squares, so that nothing leaks from one line to another.

    Args:
        volts: Samples at equal intervals [V], shape (n,), at least two periods.
        sample_hertz: Samples a second [Hz], > 0.
        highest_order: Last harmonic wanted [1], >= 2, default 10; fewer where sampling ends.

    Returns:
        The analysis.

    Raises:
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
    cycles = _fitted_cycles(samples)
    if cycles * _SAMPLES_A_PERIOD > 1.0:
        raise ValueError("the capture holds fewer than eight samples a period")
    cycles = _sharpened(samples, cycles)
    periods = int(cycles * samples.size + _PART_OF_A_PERIOD)
    if periods < _FEWEST_PERIODS:
        raise ValueError("the capture holds fewer than two whole periods")
    used = samples[: round(periods / cycles)]
    orders = _orders(cycles, max(highest_order, 2))
    mean, lines, residual = _harmonics(used, cycles, orders)
    return _described(used, rate * cycles, periods, mean, lines, residual)


def _checked(volts: ArrayLike) -> FloatArray:
    samples = np.asarray(volts, dtype=np.float64)
    if samples.ndim != 1 or samples.size < 2 * _SAMPLES_A_PERIOD:
        raise ValueError("volts must be one row of at least sixteen samples")
    if not np.isfinite(samples).all():
        raise ValueError("volts must be finite numbers")
    if not np.ptp(samples) > 0.0:
        raise ValueError("the capture holds no signal")
    return samples


def _fitted_cycles(samples: FloatArray) -> float:
    """Periods a sample: the strongest line of a windowed spectrum, then a sine fit."""
    centred = (samples - samples.mean()) * np.hanning(samples.size)
    spectrum = np.abs(np.fft.rfft(centred, 4 * samples.size))
    first = 4  # one period in the record; below it lies what the window makes of drift
    strongest = first + int(np.argmax(spectrum[first:]))
    place = np.arange(samples.size) - 0.5 * (samples.size - 1)
    start = strongest / (4.0 * samples.size)

    def model(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        a, b, mean, omega = parameters
        cosine, sine = np.cos(omega * place), np.sin(omega * place)
        by_omega = place * (b * cosine - a * sine)
        slopes = np.column_stack((cosine, sine, np.ones_like(place), by_omega))
        return samples - a * cosine - b * sine - mean, -slopes

    omega = 2.0 * math.pi * start
    design = np.column_stack((np.cos(omega * place), np.sin(omega * place), np.ones_like(place)))
    linear = _solved(design, samples)
    found = minimise(model, np.array([*linear, omega]))
    return float(found.parameters[3]) / (2.0 * math.pi)


def _orders(cycles: float, highest: int) -> range:
    """Orders below half of the sampling frequency."""
    return range(1, min(highest, math.ceil(0.5 / cycles) - 1) + 1)


def _sharpened(samples: FloatArray, cycles: float) -> float:
    """Periods a sample, with the harmonics fitted beside: in few periods they pull a lone sine."""
    if cycles * samples.size < 1.0:
        return cycles
    place = np.arange(samples.size, dtype=np.float64)
    for _ in range(_SHARPENINGS):
        orders = _orders(cycles, _ORDERS_BESIDE)
        _, lines, residual = _harmonics(samples, cycles, orders)
        slope = np.zeros(samples.size)
        for order, line in lines.items():
            slope -= order * place * np.imag(line * np.exp(2j * math.pi * order * cycles * place))
        design = np.column_stack((slope, _design(cycles * place, orders)))
        step = _solved(design, residual)
        change = float(step[0]) / (2.0 * math.pi)
        # half a period over the record is as far as the linear step can be believed
        cycles += float(np.clip(change, -0.5 / samples.size, 0.5 / samples.size))
        if abs(change) < 1e-12:
            break
    return cycles


def _solved(design: FloatArray, values: FloatArray) -> FloatArray:
    """Least squares by the normal equations.

    The columns are nearly orthogonal, so nothing is lost, and a long capture takes a
    fraction of the time that a singular value decomposition would.
    """
    scale = np.sqrt(np.sum(design**2, axis=0))
    scale[scale == 0.0] = 1.0
    columns = design / scale
    solution: FloatArray = np.linalg.solve(columns.T @ columns, columns.T @ values) / scale
    return solution


def _design(turns: FloatArray, orders: range) -> FloatArray:
    """Columns of a mean and of the cosine and sine of each order."""
    columns = [np.ones_like(turns)]
    for order in orders:
        angle = 2.0 * math.pi * order * turns
        columns += [np.cos(angle), np.sin(angle)]
    return np.column_stack(columns)


def _harmonics(
    used: FloatArray, cycles: float, orders: range
) -> tuple[float, dict[int, complex], FloatArray]:
    """Mean, complex peak amplitude of each order, and what they leave."""
    design = _design(cycles * np.arange(used.size, dtype=np.float64), orders)
    found = _solved(design, used)
    lines = {order: complex(found[2 * order - 1], -found[2 * order]) for order in orders}
    return float(found[0]), lines, used - design @ found


def _described(
    used: FloatArray,
    hertz: float,
    periods: int,
    mean: float,
    lines: dict[int, complex],
    residual: FloatArray,
) -> SineAnalysis:
    """Put amplitudes into a table."""
    fundamental = abs(lines[1])
    crest = np.angle(lines[1])
    table = tuple(
        Harmonic(
            order=order,
            hertz=order * hertz,
            rms_volts=abs(line) / math.sqrt(2.0),
            percent=100.0 * abs(line) / fundamental,
            phase_rad=float(np.angle(line * np.exp(-1j * order * crest))),
        )
        for order, line in lines.items()
    )
    thd = math.hypot(*(each.percent for each in table[1:]))
    noise = float(np.sqrt(np.mean(residual**2)))
    noise_percent = 100.0 * noise * math.sqrt(2.0) / fundamental
    return SineAnalysis(
        hertz=hertz,
        periods=periods,
        mean_volts=mean,
        rms_volts=float(np.sqrt(np.mean((used - mean) ** 2))),
        harmonics=table,
        thd_percent=thd,
        thd_n_percent=math.hypot(thd, noise_percent),
        noise_volts=noise,
        positive_peak_volts=float(used.max() - mean),
        negative_peak_volts=float(mean - used.min()),
    )
