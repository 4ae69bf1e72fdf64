"""Noise: weighting for the ear, ratios, and what the meter itself adds."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.decibel import voltage_ratio_db
from stepwise.science.domain import FloatArray, Number, finite, positive, shaped_like

A_WEIGHTING_POLES_HERTZ = (20.598997, 107.65265, 737.86223, 12194.217)
"""The first and last are double poles, IEC 61672-1 annex E."""


def a_weighting_db(f: Number) -> Number:
    """A-weighting at a frequency.

    Args:
        f: Frequency [Hz], > 0, a float or an array.

    Returns:
        Weighting [dB re 1 kHz], shaped like `f`.

    Source:
        IEC 61672-1 annex E.

    Example:
        >>> round(a_weighting_db(100.0), 4)
        -19.1428
    """
    hertz = np.asarray(f, dtype=np.float64)
    level = 20.0 * np.log10(_a_response(hertz) / _a_response(np.asarray(1000.0)))
    return shaped_like(f, level)


def _a_response(hertz: FloatArray) -> FloatArray:
    """Magnitude of the A-weighting filter, not normalised."""
    f1, f2, f3, f4 = A_WEIGHTING_POLES_HERTZ
    square = hertz**2
    middle = np.sqrt((square + f2**2) * (square + f3**2))
    weight: FloatArray = f4**2 * square**2 / ((square + f1**2) * (square + f4**2) * middle)
    return weight


def a_weighted_volts(volts: ArrayLike, sample_hertz: float) -> tuple[float, float]:
    """A-weighted RMS of a stretch of noise, from its spectrum.

    Args:
        volts: Noise without the signal, at equal intervals [V], shape (n,), n >= 16.
        sample_hertz: Samples a second [Hz], > 0; the weighting covers what lies between one
            period in the stretch and half of this.

    Returns:
        RMS [V], and its standard uncertainty from the finite stretch [V].

    Raises:
        ValueError: Fewer than sixteen samples, or a rate that is not positive.

    Source:
        Weighting as in `a_weighting_db`; Hann's window, whose neighbouring lines share scatter so
        that a sum over them varies 35/18 times as much as over independent ones (Welch 1967, from
        memory).

    Example:
        >>> tone = np.sqrt(2.0) * np.sin(2.0 * np.pi * 1000.0 * np.arange(4800) / 48e3)
        >>> round(a_weighted_volts(tone, 48e3)[0], 3)
        1.0
    """
    samples = np.asarray(volts, dtype=np.float64)
    rate = positive(sample_hertz, "sample_hertz")
    if samples.ndim != 1 or samples.size < 16:
        raise ValueError("volts must be one row of at least sixteen samples")
    window = np.hanning(samples.size + 2)[1:-1]
    lines = np.abs(np.fft.rfft(samples * window)) ** 2
    # all but the mean and the line at half the rate stand for a negative frequency too
    lines[1:] *= 2.0
    if samples.size % 2 == 0:
        lines[-1] *= 0.5
    power = lines / (samples.size * float(window @ window))
    hertz = np.arange(1, power.size) * rate / samples.size
    weighted = power[1:] * 10.0 ** (a_weighting_db(hertz) / 10.0)
    square = float(weighted.sum())
    # a line of noise scatters by as much as it is high, so its square is twice that mean's
    scatter = math.sqrt(35.0 / 18.0 * 0.5 * float(weighted @ weighted))
    volts_rms = math.sqrt(square)
    return volts_rms, 0.5 * scatter / volts_rms if volts_rms > 0.0 else 0.0


def signal_to_noise_db(signal_volts: float, noise_volts: float) -> float:
    """Ratio of the signal to the noise that is left without it.

    Args:
        signal_volts: Output with signal [V RMS], > 0.
        noise_volts: Output without signal [V RMS], > 0, in a stated bandwidth.

    Returns:
        Ratio [dB].

    Raises:
        ValueError: A voltage is not positive.

    Source:
        20 lg (Us / Un), IEC 60268-3 (from memory).

    Example:
        >>> round(signal_to_noise_db(20.0, 120e-6), 3)
        104.437
    """
    return voltage_ratio_db(signal_volts, noise_volts)


def without_meter_noise(reading_volts: float, meter_volts: float) -> float:
    """Noise with the meter's own noise removed.

    Args:
        reading_volts: Reading with the amplifier connected [V RMS].
        meter_volts: Reading with the meter's input shorted [V RMS], less than the former.

    Returns:
        Noise of the amplifier [V RMS].

    Raises:
        ValueError: The meter alone reads as much or more.

    Source:
        Root of the difference of squares: independent noises add in power.

    Example:
        >>> round(without_meter_noise(0.5, 0.3), 6)
        0.4
    """
    square = finite(reading_volts, "reading_volts") ** 2 - finite(meter_volts, "meter_volts") ** 2
    if square <= 0.0:
        raise ValueError("the meter alone reads as much as with the amplifier connected")
    return math.sqrt(square)


def noise_bandwidth_hertz(corner_hertz: float) -> float:
    """Bandwidth of white noise that a single pole lets through.

    Args:
        corner_hertz: Corner of the pole [Hz], > 0.

    Returns:
        Equivalent noise bandwidth [Hz].

    Raises:
        ValueError: `corner_hertz` is not positive.

    Source:
        pi / 2 fc: integral of the squared first-order response.

    Example:
        >>> round(noise_bandwidth_hertz(1000.0), 2)
        1570.8
    """
    return 0.5 * math.pi * positive(corner_hertz, "corner_hertz")


def thermal_noise_volts(
    resistance_ohms: float, bandwidth_hertz: float, kelvin: float = 300.0
) -> float:
    """Noise of a resistance: what no amplifier's input can be below.

    Args:
        resistance_ohms: Resistance [ohm], > 0.
        bandwidth_hertz: Bandwidth [Hz], > 0.
        kelvin: Temperature [K], > 0, default 300.

    Returns:
        Open-circuit noise [V RMS].

    Raises:
        ValueError: A value is not positive.

    Source:
        sqrt(4 k T R B), Johnson and Nyquist; k = 1.380649e-23 J/K (SI 2019).

    Example:
        >>> round(thermal_noise_volts(10e3, 20e3) * 1e6, 3)
        1.82
    """
    power = 4.0 * 1.380649e-23 * positive(kelvin, "kelvin")
    bandwidth = positive(bandwidth_hertz, "bandwidth_hertz")
    return math.sqrt(power * positive(resistance_ohms, "resistance_ohms") * bandwidth)
