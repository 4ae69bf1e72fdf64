"""Whether a captured wave is a square wave, a sine or a triangle, by its harmonics.

Kinds go over into one another: an amplifier driven hard makes a square wave of a sine, slow edges
make a sine of a square wave. Refused is only what lies beyond the borders below, so that every
wave between them may be read as either.
"""

from __future__ import annotations

import math
from enum import StrEnum

import numpy as np

from stepwise.science.domain import FloatArray
from stepwise.science.sine_fit import fitted_lines, orders_below

_ORDERS = 15
_MOST_SAMPLES, _A_PERIOD = 16_384, 256
_LEAST_OF_SQUARE = 0.045
"""Harmonics over the fundamental below which a wave is no square wave: straight edges of a quarter
of a period leave 5.7 %."""
_MOST_OF_SINE = 0.4
"""Harmonics over the fundamental above which a wave is no sine: cut off at a fifth of its peak a
sine has 38 %, a square wave 45 % up to the fifteenth."""
_MOST_BESIDE = 0.15
"""What is neither, over the fundamental, with which nothing is called a sine: a ringing that does
not die away within a period is not periodic with the one found."""
_TRIANGLE = {3: -1.0 / 9.0, 5: 1.0 / 25.0}
_LIKE_TRIANGLE = {3: 0.02, 5: 0.01}
"""Of a triangle's odd harmonics, and how far they may be off; as sines about the fundamental."""


class WaveKind(StrEnum):
    """What a wave looks like."""

    SINE = "sine"
    SQUARE = "square wave"
    TRIANGLE = "triangle wave"


class OtherWave(ValueError):
    """A capture of another wave than it was taken for."""

    def __init__(self, looks_like: WaveKind, wanted: WaveKind, harmonics: float) -> None:
        self.looks_like = looks_like
        """What it looks like."""
        share = f"{100.0 * harmonics:.{0 if harmonics > 0.1 else 1}f} % of its fundamental"
        super().__init__(
            f"the capture looks like a {looks_like}, not a {wanted}: its harmonics are {share}"
        )


def refuse_no_square(samples: FloatArray, period_samples: float) -> None:
    """Raise `OtherWave` for a sine or a triangle that is to be read as a square wave.

    Args:
        samples: The record [V], shape (n,).
        period_samples: Its period [samples]; less than one in the record is not looked at.
    """
    each = max(1, int(period_samples / _A_PERIOD))
    thin = samples[::each][:_MOST_SAMPLES]
    cycles = each / period_samples
    periods = math.floor(thin.size * cycles + 0.02)
    used = thin[: round(periods / cycles)]
    orders = orders_below(cycles, _ORDERS, max(used.size, 1))
    if periods < 1 or len(orders) < 3:
        return
    _, lines, left = fitted_lines(used, cycles, orders)
    harmonics = _harmonics(lines)
    if _is_triangle(lines):
        raise OtherWave(WaveKind.TRIANGLE, WaveKind.SQUARE, harmonics)
    beside = math.sqrt(2.0 * float(np.mean(left**2))) / abs(lines[1])
    if harmonics < _LEAST_OF_SQUARE and beside < _MOST_BESIDE:
        raise OtherWave(WaveKind.SINE, WaveKind.SQUARE, harmonics)


def refuse_no_sine(lines: dict[int, complex]) -> None:
    """Raise `OtherWave` for a square wave or a triangle that is to be read as a sine.

    Args:
        lines: Order -> complex amplitude [V].
    """
    harmonics = _harmonics(lines)
    if _is_triangle(lines):
        raise OtherWave(WaveKind.TRIANGLE, WaveKind.SINE, harmonics)
    if harmonics > _MOST_OF_SINE:
        raise OtherWave(WaveKind.SQUARE, WaveKind.SINE, harmonics)


def _harmonics(lines: dict[int, complex]) -> float:
    others = [abs(line) for order, line in lines.items() if 1 < order <= _ORDERS]
    return math.hypot(*others) / abs(lines[1])


def _is_triangle(lines: dict[int, complex]) -> bool:
    if not set(_TRIANGLE) <= set(lines):
        return False
    start = np.angle(lines[1]) + 0.5 * math.pi
    for order, share in _TRIANGLE.items():
        # turned so that the fundamental is a sine, the order's own sine is its real part
        turned = lines[order] * np.exp(-1j * (order * start - 0.5 * math.pi)) / abs(lines[1])
        if abs(turned - share) > _LIKE_TRIANGLE[order]:
            return False
    even = [abs(line) for order, line in lines.items() if order % 2 == 0 and order <= _ORDERS]
    return bool(math.hypot(*even) < _LIKE_TRIANGLE[3] * abs(lines[1]))
