"""Steps that a record was made or written with, and what averaging leaves of them."""

from __future__ import annotations

import math

import numpy as np

from stepwise.science.domain import FloatArray

_LOOKED_AT = 4096
_TABLE = 512
_OFF_GRID = 0.15
"""Scatter of values about multiples of a step, over the step, from which on it is none: half of
what values on no grid have, as those of a wave without noise and converter."""
_MOST_APART, _MANY = 6, 10
"""Steps that the nearest values are apart, at most, and values that it takes to tell."""
_DIGITS, _ROUNDING = 8, 1e-6
"""Digits that a file may have and still show them, and what reading them rounds by."""


EVENED_OUT = 1.0
"""Noise over the step above which nothing is left of the steps: a few billionths."""
GOLDEN = 0.5 * (math.sqrt(5.0) - 1.0)
"""Multiples of it, less their whole parts, spread evenly however many there are."""


def without_steps(noise: float, step: float) -> float:
    """Noise of samples without what the steps add to it where all places are alike [V RMS].

    Args:
        noise: Of the samples [V RMS].
        step: Step of the converter [V].
    """
    return math.sqrt(max(noise**2 - step**2 / 12.0, 0.0))


def left_by_steps(step: float, own_noise: float) -> float:
    """RMS by which the mean of stepped samples may be off: noise of a step and more evens it out.

    Of noise that is normal the mean's error is a wave over the place within a step, whose size
    falls with the characteristic function of the noise; without noise it is a ramp.

    Args:
        step: Step of the converter [V].
        own_noise: Noise of the samples without what the steps add (`without_steps`), which evens
            nothing out [V RMS].
    """
    if step == 0.0:
        return 0.0
    return step / math.sqrt(12.0) * math.exp(-2.0 * (math.pi * own_noise / step) ** 2)


def mean_step_error(places: FloatArray, noise: float) -> FloatArray:
    """Mean error of rounded values, in steps.

    The error is a ramp over the place within a step; noise makes a mean of its neighbourhood,
    whose waves fall with the characteristic function of the noise.

    Args:
        places: The values, over the step [1].
        noise: Over the step [1 RMS].

    Returns:
        Shaped like `places`.
    """
    place = (np.arange(_TABLE) + 0.5) / _TABLE
    ramp = np.fft.rfft(np.round(place) - place)
    falls = np.exp(-2.0 * (math.pi * noise * np.arange(ramp.size)) ** 2)
    table: FloatArray = np.fft.irfft(ramp * falls, _TABLE)
    errors: FloatArray = table[(places % 1.0 * _TABLE).astype(np.int64) % _TABLE]
    return errors


def converter_step(samples: FloatArray) -> float:
    """Step of the converter that a record was made with [V]; 0 where none shows."""
    part = np.unique(samples[:: max(1, samples.size // _LOOKED_AT)])
    if part.size < 2:
        return 0.0
    steps = np.diff(part)
    span = float(part[-1] - part[0])
    steps = steps[steps > 1e-6 * span]  # apart by rounding only
    smallest = float(steps.min()) if steps.size else 0.0
    # finer than twelve bits nothing is lost to it
    if not smallest > span / 4096.0:
        return 0.0
    # of all that are alike, since digits of a file round each
    alike = float(steps[steps < 1.5 * smallest].mean())
    # sampled in step and without noise, a wave may never show two neighbouring steps
    for times in range(1, _MOST_APART + 1 if part.size >= _MANY else 2):
        step = span / max(float(np.round(steps * times / alike).sum()), 1.0)
        off = (part - part[0]) / step
        if float(np.std(off - np.round(off))) < _OFF_GRID:
            return step
    return 0.0


def written_step(samples: FloatArray) -> float:
    """Largest power of ten of which every sample is a multiple [V]; 0 where none is.

    What a file's digits tell: zeros at their ends count for nothing.
    """
    part = samples[:: max(1, samples.size // _LOOKED_AT)]
    largest = float(np.abs(part).max())
    if not largest > 0.0:
        return 0.0
    first = math.ceil(math.log10(largest))
    for exponent in range(first, first - _DIGITS, -1):
        multiples = part / 10.0**exponent
        if np.allclose(multiples, np.round(multiples), rtol=0.0, atol=_ROUNDING):
            return float(10.0**exponent)
    return 0.0
