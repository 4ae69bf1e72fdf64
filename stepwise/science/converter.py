"""Steps of the converter that a record was made with, and what averaging leaves of them."""

from __future__ import annotations

import math

import numpy as np

from stepwise.science.domain import FloatArray


def left_by_steps(step: float, noise: float) -> float:
    """RMS by which the mean of stepped samples may be off: noise of a step and more evens it out.

    Of noise that is normal the mean's error is a wave over the place within a step, whose size
    falls with the characteristic function of the noise; without noise it is a ramp.
    """
    if step == 0.0:
        return 0.0
    own = max(noise**2 - step**2 / 12.0, 0.0)  # the steps' own scatter evens nothing out
    return step / math.sqrt(12.0) * math.exp(-2.0 * math.pi**2 * own / step**2)


def converter_step(samples: FloatArray) -> float:
    """Step of the converter that a record was made with [V]; 0 where none shows."""
    part = np.unique(samples[:: max(1, samples.size // 4096)])
    if part.size < 2:
        return 0.0
    steps = np.diff(part)
    span = float(part[-1] - part[0])
    steps = steps[steps > 1e-6 * span]  # apart by rounding only
    smallest = float(steps.min()) if steps.size else 0.0
    # finer than twelve bits nothing is lost to it
    return smallest if smallest > span / 4096.0 else 0.0
