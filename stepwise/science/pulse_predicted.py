"""The square wave that a fitted response makes: what the oscilloscope ought to show."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from stepwise.science.domain import FloatArray, positive
from stepwise.science.pulse import rise_time_from_corner
from stepwise.science.response import Side
from stepwise.science.response_model import EndOfResponse

_HARMONICS = 1000
"""Odd harmonics that a wave is made of; an edge then takes a thousandth of a period."""
_RISING_AT = 0.25
"""Place of the rising edge in the period [1]."""
_STEPS = 4000


def predicted_square(
    square_hertz: float, low: EndOfResponse, high: EndOfResponse, points: int = 400
) -> tuple[FloatArray, FloatArray]:
    """One period of a square wave behind a response, long after it was switched on.

    Args:
        square_hertz: Frequency of the square wave [Hz], > 0.
        low: Low end of the response.
        high: High end of the response.
        points: Points wanted [1], >= 2, default 400.

    Returns:
        Times [periods], shape (points,), from 0 to 1 with the rising edge at a quarter, and the
        wave, shape (points,), 1 and -1 where its tops would be flat [1].

    Raises:
        ValueError: The frequency is not positive, or there are fewer than two points.

    Source:
        Fourier series 4 / (pi k) of odd k through the response; without a high end its
        overshoot at the jumps is taken off by Lanczos' factors (from memory).

    Example:
        >>> flat = EndOfResponse(0)
        >>> times, wave = predicted_square(1e3, flat, flat)
        >>> round(float(wave.max()), 3)
        1.0
    """
    hertz = positive(square_hertz, "square_hertz")
    if points < 2:
        raise ValueError(f"points must be at least two, got {points!r}")
    order: FloatArray = 2.0 * np.arange(_HARMONICS, dtype=np.float64) + 1.0
    weight = _gain(order * hertz, low, "low") * _gain(order * hertz, high, "high")
    weight = weight * 4.0 / (math.pi * order)
    if high.corner_hertz is None:
        weight = weight * np.sinc(order / (2.0 * _HARMONICS))
    times = np.linspace(0.0, 1.0, points)
    # At points equally far apart, harmonics that differ by their number look alike: one
    # transform of that length sums them all, and a screen need not wait for it.
    intervals = points - 1
    turned = weight * np.exp(-2j * math.pi * _RISING_AT * order)
    folded = np.zeros(intervals, dtype=np.complex128)
    np.add.at(folded, order.astype(np.int64) % intervals, turned)
    wave: FloatArray = np.append(np.fft.ifft(folded).imag * intervals, 0.0)
    wave[-1] = wave[0]
    return times, wave


def predicted_tilt_percent(square_hertz: float, low: EndOfResponse) -> float:
    """Sag of a flat top behind the low end of a response.

    Args:
        square_hertz: Frequency of the square wave [Hz], > 0.
        low: Low end of the response.

    Returns:
        Fall from the first value of the top to the last, over the first [%].

    Raises:
        ValueError: The frequency is not positive.

    Source:
        Fourier series of what the low end takes away, which has no jumps; for a first-order
        end it is `tilt_percent`.

    Example:
        >>> round(predicted_tilt_percent(50.0, EndOfResponse(1, 5.0)), 2)
        26.96
    """
    hertz = positive(square_hertz, "square_hertz")
    order: FloatArray = 2.0 * np.arange(20 * _HARMONICS, dtype=np.float64) + 1.0
    taken = (_gain(order * hertz, low, "low") - 1.0) * 4.0 / (math.pi * order)
    # at the edge every sine is nothing, half a period on every cosine is turned round
    first, last = 1.0 + float(taken.imag.sum()), 1.0 - float(taken.imag.sum())
    return 100.0 * (first - last) / first


def predicted_rise_s(high: EndOfResponse) -> float | None:
    """Rise time that the high end of a response makes.

    Args:
        high: High end of the response.

    Returns:
        From 10 % to 90 % [s]; None where no high end is known.

    Source:
        First order: `rise_time_from_corner`; second order: its step response, walked through.

    Example:
        >>> round(predicted_rise_s(EndOfResponse(1, 20e3)) * 1e6, 2)
        17.48
    """
    if high.corner_hertz is None:
        return None
    if high.q is None:
        return rise_time_from_corner(high.corner_hertz)
    step = _second_order_step(high.q)
    first, last = (int(np.argmax(step >= level)) for level in (0.1, 0.9))
    longest = _longest(high.q)
    turns = longest / (_STEPS - 1)
    parts = (_within(step, first, 0.1), _within(step, last, 0.9))
    return (parts[1] - parts[0]) * turns / (2.0 * math.pi * high.corner_hertz)


def _longest(q: float) -> float:
    """Time in radians by which a second-order step is past 90 %."""
    return 8.0 * max(1.0, 1.0 / q)


def _second_order_step(q: float) -> FloatArray:
    """Step response of a second-order low-pass of natural frequency 1 [rad/s]."""
    time = np.linspace(0.0, _longest(q), _STEPS)
    zeta = 0.5 / q
    # a pair of equal poles is as good as one of nearly equal ones
    root = np.sqrt(complex(zeta * zeta - 1.0))
    root = root if abs(root) > 1e-4 else complex(1e-4)
    one, other = -zeta + root, -zeta - root
    wave = 1.0 + (other * np.exp(one * time) - one * np.exp(other * time)) / (one - other)
    step: FloatArray = wave.real
    return step


def _within(step: FloatArray, place: int, level: float) -> float:
    """Where a step passes a level, between samples."""
    below = step[place - 1]
    return place - 1 + float((level - below) / (step[place] - below))


def _gain(hertz: FloatArray, end: EndOfResponse, side: Side) -> NDArray[np.complex128]:
    """Complex gain of one end."""
    if end.corner_hertz is None:
        return np.ones(hertz.shape, dtype=np.complex128)
    s = 1j * hertz / end.corner_hertz if side == "high" else end.corner_hertz / (1j * hertz)
    below = 1.0 + s if end.q is None else 1.0 + s / end.q + s * s
    return np.asarray(1.0 / below, dtype=np.complex128)
