"""A decaying oscillation after an edge, fitted as a damped sinusoid."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, positive
from stepwise.science.least_squares import Model, minimise

_LEAST_PERIODS = 1.0
_LEAST_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class Ringing:
    """A damped sinusoid."""

    hertz: float
    """Frequency that is seen [Hz]."""
    damping_ratio: float
    """Damping ratio zeta [1], above 0."""
    amplitude_volts: float
    """Envelope at the first sample [V peak]."""
    standard_hertz: float
    """Standard uncertainty of the frequency [Hz], from the scatter about the fit."""
    standard_damping_ratio: float
    """Standard uncertainty of the damping ratio [1], from the scatter about the fit."""


def fit_ringing(volts: ArrayLike, sample_hertz: float) -> Ringing | None:
    """Fit a damped sinusoid to what follows an edge.

    Args:
        volts: Samples after the edge at equal intervals [V], shape (n,), n >= 12; a constant
            level is fitted beside.
        sample_hertz: Samples a second [Hz], > 0.

    Returns:
        The ringing; None when the samples hold less than one period of it, do not decay, or
        are for the most part something else.

    Raises:
        ValueError: Fewer than twelve samples, or values that are not usable.

    Source:
        Nonlinear least squares, v = c + e^(-s t) (a cos w t + b sin w t); zeta from
        s / hypot(s, w).

    Example:
        >>> t = np.arange(200) * 1e-6
        >>> ring = fit_ringing(np.exp(-2e4 * t) * np.cos(6.2832e5 * t), 1e6)
        >>> round(ring.hertz), round(ring.damping_ratio, 4)
        (100000, 0.0318)
    """
    samples = np.asarray(volts, dtype=np.float64)
    rate = positive(sample_hertz, "sample_hertz")
    if samples.ndim != 1 or samples.size < 12:
        raise ValueError("volts must be one row of at least twelve samples")
    if not np.isfinite(samples).all():
        raise ValueError("volts must be finite numbers")
    if not np.ptp(samples) > 0.0:
        return None
    place = np.arange(samples.size, dtype=np.float64)
    starts = _starts(samples)
    minima = [minimise(_model(samples, place), start) for start in starts]
    best = min(minima, key=lambda each: each.cost)
    a, b, _, decay, omega = (float(each) for each in best.parameters)
    explained = 1.0 - best.cost / float(np.sum((samples - samples.mean()) ** 2))
    periods = omega * samples.size / (2.0 * math.pi)
    if decay <= 0.0 or not _LEAST_PERIODS <= periods <= samples.size / 2.0:
        return None
    if explained < _LEAST_SHARE or not np.isfinite(best.covariance).all():
        return None
    scatter = best.cost / max(samples.size - 5, 1)
    deviation = np.sqrt(scatter * np.diag(best.covariance))
    size = math.hypot(decay, omega)
    return Ringing(
        hertz=rate * omega / (2.0 * math.pi),
        damping_ratio=decay / size,
        amplitude_volts=math.hypot(a, b),
        standard_hertz=rate * float(deviation[4]) / (2.0 * math.pi),
        # to first order in a small damping, where the decay's share dominates
        standard_damping_ratio=float(deviation[3]) / size,
    )


def damping_ratio_from_cycles(cycles: float, visible_percent: float) -> float:
    """Damping ratio from the cycles of ringing that the eye counts after an edge.

    Args:
        cycles: Cycles counted [1], > -0.5; the last one may be anywhere from barely to wholly
            seen, so half a cycle is added.
        visible_percent: Ringing that can just be told, over the height of the step [%], between
            0 and 100.

    Returns:
        Damping ratio zeta [1].

    Raises:
        ValueError: Fewer than no cycles, or a share that is not between 0 and 100 %.

    Source:
        Envelope of the second-order step response, exp(-2 pi d n) / sqrt(1 - z^2) with
        d = z / sqrt(1 - z^2), solved for z where it has fallen to what can be told.

    Example:
        >>> round(damping_ratio_from_cycles(3, 2.0), 4)
        0.1758
    """
    lasting = positive(cycles + 0.5, "cycles and a half")
    if not 0.0 < visible_percent < 100.0:
        raise ValueError(f"what can be told lies between 0 and 100 %, got {visible_percent!r}")
    decrement = 0.0
    for _ in range(60):
        # the envelope begins at 1 / sqrt(1 - z^2) = sqrt(1 + d^2) of the step
        begins = 0.5 * math.log1p(decrement * decrement)
        decrement = (math.log(100.0 / visible_percent) + begins) / (2.0 * math.pi * lasting)
    return decrement / math.hypot(1.0, decrement)


def _starts(samples: FloatArray) -> list[FloatArray]:
    """Starts at the strongest line of the spectrum, with slow and with fast decay."""
    count = samples.size
    level = float(samples[-max(count // 4, 1) :].mean())
    spectrum = np.abs(np.fft.rfft(samples - level, 8 * count))
    first = 6  # three quarters of a period in the record
    omega = 2.0 * math.pi * (first + int(np.argmax(spectrum[first:]))) / (8.0 * count)
    place = np.arange(count, dtype=np.float64)
    starts = []
    for decay in (1.0 / count, 5.0 / count, 0.5 * omega):
        envelope = np.exp(-decay * place)
        design = np.column_stack(
            (envelope * np.cos(omega * place), envelope * np.sin(omega * place), np.ones(count))
        )
        linear, *_ = np.linalg.lstsq(design, samples, rcond=None)
        starts.append(np.array([*linear, decay, omega]))
    return starts


def _model(samples: FloatArray, place: FloatArray) -> Model:
    """Residuals of a damped sinusoid on a constant level, and their derivatives."""

    def residuals(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        a, b, level, decay, omega = parameters
        # An envelope that grows out of the numbers is a bad step, not an error.
        envelope = np.exp(np.minimum(-decay * place, 100.0))
        cosine, sine = envelope * np.cos(omega * place), envelope * np.sin(omega * place)
        wave = a * cosine + b * sine
        by_omega = place * (b * cosine - a * sine)
        slopes = np.column_stack((cosine, sine, np.ones_like(place), -place * wave, by_omega))
        return samples - level - wave, -slopes

    return residuals
