"""What the steps of a converter leave in the lines of a captured sine.

Averaging does not lessen it: on a flat top all samples fall on the same step, whose middle may be
half a step away. Noise of about half a step evens it out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stepwise.science.converter import EVENED_OUT, GOLDEN, mean_step_error
from stepwise.science.domain import FloatArray

_PLACES = 24
"""Places within a step that either top of the wave is put at in turn."""
_MOST_SAMPLES = 4096


@dataclass(frozen=True, slots=True, eq=False)
class StepErrors:
    """How mean and lines would be off, for several places of the wave within the steps."""

    mean: FloatArray
    """Of the mean [V], shape (k,)."""
    lines: NDArray[np.complex128]
    """Of the complex amplitudes [V], shape (orders, k)."""

    def squares(self, lines: NDArray[np.complex128]) -> FloatArray:
        """What they add to the square of each line [V^2], shape (orders, k)."""
        added: FloatArray = (
            2.0 * (lines.conj()[:, np.newaxis] * self.lines).real + np.abs(self.lines) ** 2
        )
        return added


def step_errors(
    course: FloatArray, orders: int, sampling: tuple[float, int], step: float, own_noise: float
) -> StepErrors:
    """Put the wave at several places within the steps, and fit what these make of it.

    Args:
        course: One period of the wave about its mean [V], at the middles of equal parts, shape
            (n,).
        orders: Lines that are fitted [1].
        sampling: Periods a sample, and samples of the record [1].
        step: Step of the converter [V], 0 where there is none.
        own_noise: Noise of the samples without what the steps add [V RMS].

    Returns:
        The errors, for as many places; all nothing without steps.
    """
    if not step > 0.0 or own_noise > EVENED_OUT * step:
        return StepErrors(np.zeros(1), np.zeros((orders, 1), dtype=np.complex128))
    turns = _turns(*sampling)
    first = np.exp(2j * math.pi * turns)
    powers = np.cumprod(np.broadcast_to(first, (orders, turns.size)), axis=0)
    middles = (np.arange(course.size) + 0.5) / course.size
    wave = np.interp(turns, middles, course, period=1.0) / step
    moved, stretched = _places()
    largest = float(np.abs(wave).max())
    placed = wave[:, np.newaxis] * (1.0 + stretched / largest) + moved
    errors = step * mean_step_error(placed, own_noise / step)
    found = (2.0 / turns.size * (powers.conj() @ errors)).astype(np.complex128)
    return StepErrors(errors.mean(axis=0), found)


def _turns(cycles: float, size: int) -> FloatArray:
    """Places of the samples [periods], of as many whole periods as are quick to look at."""
    periods = math.floor(cycles * _MOST_SAMPLES)
    if size <= _MOST_SAMPLES:
        places = np.arange(size)
    elif periods >= 1:
        places = np.arange(round(periods / cycles))
    else:
        places = np.arange(0, size, math.ceil(size / _MOST_SAMPLES))
    turns: FloatArray = cycles * places.astype(np.float64)
    return turns


def _places() -> tuple[FloatArray, FloatArray]:
    """Shift of the wave and stretch of its peak [steps], evenly spread from -1/2 to 1/2."""
    count = np.arange(_PLACES, dtype=np.float64)
    moved: FloatArray = (count + 0.5) / _PLACES - 0.5
    stretched: FloatArray = (GOLDEN * count) % 1.0 - 0.5
    return moved, stretched
