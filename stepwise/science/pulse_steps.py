"""What the steps of a converter leave of the tilt of a captured top.

Averaging does not lessen it: all tops of one direction lie at the same places within the steps. A
top that falls by many steps evens it out, and so does noise of half a step.
"""

from __future__ import annotations

import math

import numpy as np

from stepwise.science.converter import EVENED_OUT, GOLDEN, mean_step_error, without_steps
from stepwise.science.domain import FloatArray
from stepwise.science.pulse_tops import Record

_PLACES = 32
"""Places within a step that a top is put at in turn."""
_POINTS = 256
_TOPS = 16
"""Tops whose noise is looked at."""


def own_noise(record: Record, step: float) -> float:
    """Noise of the tops without what the steps add [V RMS], from neighbouring samples.

    A top at the border of two steps toggles by a whole one, whatever the noise; the quieter
    direction counts.

    Args:
        record: The record.
        step: Step of the converter [V].
    """
    scatter: dict[bool, list[float]] = {True: [], False: []}
    for place, edge in enumerate(record.edges[:_TOPS]):
        quiet = np.diff(record.settled_after(place)[:4096])
        if quiet.size >= 8:
            scatter[edge.rising].append(0.5 * float(quiet @ quiet) / quiet.size)
    least = min((float(np.mean(each)) for each in scatter.values() if each), default=0.0)
    return without_steps(math.sqrt(least), step)


def decay_hidden_by_steps(
    decay: float, half_samples: float, share: float, step: float, noise: float
) -> float:
    """By how much a decay may be off that was fitted to the settled part of tops [1/sample].

    Args:
        decay: Of the tops towards the mean [1/sample].
        half_samples: Half a period [samples].
        share: Of it, from which on the tops were fitted [1].
        step: Of the converter, over half the height of the wave [1].
        noise: Without what the steps add, over the step [1].

    Returns:
        Standard uncertainty, of the mean of tops of either direction.
    """
    if not step > 0.0 or noise > EVENED_OUT:
        return 0.0
    at = (share + (1.0 - share) * (np.arange(_POINTS) + 0.5) / _POINTS) * half_samples
    # the mean over half a period is half the height of the wave
    exponent = decay * half_samples
    first = exponent / -math.expm1(-exponent) if abs(exponent) > 1e-9 else 1.0
    heights: FloatArray = first * np.exp(-decay * at)
    count = np.arange(_PLACES)
    moved = (count + 0.5) / _PLACES
    # a top that seems flat may fall by a step over the part that is seen
    fallen = (0.5 - at / half_samples) / (1.0 - share)
    leaning = 2.0 * ((GOLDEN * count) % 1.0) - 1.0
    placed = heights[:, np.newaxis] / step + fallen[:, np.newaxis] * leaning + moved
    errors = step * mean_step_error(placed, noise)
    weight = heights**2 / float(heights @ heights)
    away = at - weight @ at
    off = (weight * away) @ (errors / heights[:, np.newaxis]) / float((weight * away) @ away)
    return float(np.sqrt(np.mean(off**2))) / math.sqrt(2.0)
