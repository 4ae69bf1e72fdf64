"""Whether a trace runs into the limit of its converter: peaks cut off by the edge of the screen.

At a limit all samples are alike and noise is gone; beside it the trace comes down steeply, where a
crest would be round. What is cut off by the amplifier keeps the noise of the oscilloscope.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stepwise.science.domain import FloatArray

_FEWEST_RUN, _FEWEST = 2, 6
"""Samples of a run, and of all runs, that it takes to tell."""
_ROUNDED = 0.6
"""Steps by which rounding may deepen a drop."""
_NOISY = 0.4
"""Noise over the step from which on a flat top of a trace does not look like a limit."""


_LEAST_NOISE = 5e-4
"""Share of the height that a fit without noise may leave at corners."""


@dataclass(frozen=True, slots=True)
class OffScreen:
    """Sides on which a trace is flat at its farthest level."""

    high: bool
    """At its highest."""
    low: bool
    """At its lowest."""
    is_sure: bool
    """Whether the rest of the trace has noise that the flat part has not; else the amplifier may
    clip."""

    def __bool__(self) -> bool:
        return self.high or self.low


NOWHERE = OffScreen(high=False, low=False, is_sure=False)


def off_screen(samples: FloatArray, step: float, own_noise: float) -> OffScreen:
    """Look for peaks that are cut off by the limit of a converter.

    Args:
        samples: The record [V], shape (n,).
        step: Step of the converter [V]; 0 where none shows.
        own_noise: Noise of the samples without what the steps add [V RMS].

    Returns:
        The sides; none of a record without noise and converter, whose flat parts are what they
        are.

    Source:
        A parabola whose m samples at its crest lie within one step has fallen by at most
        (1 + 2 k / (m - 1))^2 steps k samples beside them; thresholds common practice, no source.
    """
    unit = max(step, 0.5 * own_noise)
    is_sure = own_noise > max(_NOISY * step, _LEAST_NOISE * float(np.ptp(samples)))
    if not (step > 0.0 or is_sure):
        return NOWHERE
    return OffScreen(_is_flat(samples, unit), _is_flat(-samples, unit), is_sure)


def _is_flat(samples: FloatArray, unit: float) -> bool:
    """Whether runs of the highest sample are longer than the slopes beside them explain."""
    highest = samples.max()
    at = np.flatnonzero(samples >= highest)
    breaks = np.flatnonzero(np.diff(at) > 1)
    first = at[np.concatenate(([0], breaks + 1))]
    last = at[np.concatenate((breaks, [at.size - 1]))]
    lengths = last - first + 1
    if lengths.max() < _FEWEST_RUN or lengths.sum() < _FEWEST:
        return False
    long = 2 * lengths >= lengths.max()
    length = float(np.median(lengths[long]))
    if length < _FEWEST_RUN:
        return False
    beside = max(1, int(length) // 2)
    # of a run that the record cuts off only one side is known
    long &= (first >= beside) & (last < samples.size - beside)
    if not long.any():
        return False
    before, after = samples[first[long] - beside], samples[last[long] + beside]
    drop = float(np.median(highest - np.maximum(before, after)))
    return drop > ((1.0 + 2.0 * beside / (length - 1.0)) ** 2 + _ROUNDED) * unit
