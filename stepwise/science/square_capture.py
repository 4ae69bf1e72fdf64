"""A captured square wave: rise time, overshoot, preshoot, tilt, ringing, slew rate.

Terms and levels follow IEEE Std 181; percentages are of the amplitude between the two states.
With a tilted top the states are found on the tops straightened by their own exponential, so
that sag is not read as overshoot. Edges are laid over one another and read through their noise
(`pulse_edge`), so that neither the noise of an 8-bit oscilloscope nor its steps add to a peak.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.converter import converter_step, without_steps, written_step
from stepwise.science.converter_limit import OffScreen, off_screen
from stepwise.science.domain import FloatArray, positive
from stepwise.science.pulse_levels import Transition, state_levels, transitions
from stepwise.science.pulse_settled import settled
from stepwise.science.pulse_steps import decay_hidden_by_steps, own_noise
from stepwise.science.pulse_tops import (
    Record,
    Tilt,
    top_tilt,
    whole_mean,
    whole_periods,
    with_steps,
)
from stepwise.science.square_capture_reading import LEAST_RINGING, Reading
from stepwise.science.square_capture_shown import SquareAnalysis
from stepwise.science.wave_kind import refuse_no_square

_MOST_EDGES = 200
"""Edges that are looked at: more of them say nothing that these do not."""


def analyse_square(volts: ArrayLike, sample_hertz: float) -> SquareAnalysis:
    """Read a captured square wave as a person reads a screen, but with numbers.

    Args:
        volts: Samples at equal intervals [V], shape (n,), with at least one whole transition.
        sample_hertz: Samples a second [Hz], > 0.

    Returns:
        The analysis.

    Raises:
        OtherWave: It looks like a sine (harmonics below 4.5 % of the fundamental) or a triangle.
        ValueError: No transition, or values that are not usable.

    Source:
        IEEE Std 181 (from memory); tilt as in `tilt_percent`; ringing as in `fit_ringing`.

    Example:
        >>> wave = np.tile(np.repeat([-5.0, 5.0], 100), 3)
        >>> round(analyse_square(wave, 1e5).square_hertz)
        500
    """
    rate = positive(sample_hertz, "sample_hertz")
    record = _shortened(_recorded(np.asarray(volts, dtype=np.float64)))
    half_samples = _half_period(record.edges)
    if half_samples is not None:
        refuse_no_square(record.samples, 2.0 * half_samples)
    step = converter_step(record.samples)
    if half_samples is None:
        return _limited(Reading(settled(record), rate, step).analysis(), record.samples)
    first = Reading(record, rate, step, closely=False)
    tilt = top_tilt(record, half_samples, first.settled_from(half_samples))
    tilt = tilt and _with_steps(tilt, record, half_samples, max(step, written_step(record.samples)))
    is_tilted = tilt is not None and tilt.is_told
    straight = _straightened(record, tilt.decay) if tilt and is_tilted else record
    leaning = tilt.standard_percent / 100.0 if tilt and is_tilted else 0.0
    found = Reading(settled(straight, leaning), rate, step, half_samples, tilt).analysis()
    return _limited(found, record.samples)


def _with_steps(tilt: Tilt, record: Record, half_samples: float, step: float) -> Tilt:
    if not step > 0.0:
        return tilt
    height = 0.5 * record.levels.amplitude_volts
    noise = own_noise(record, step) / step
    hidden = decay_hidden_by_steps(tilt.decay, half_samples, tilt.share, step / height, noise)
    return with_steps(tilt, half_samples, hidden)


def _limited(found: SquareAnalysis, samples: FloatArray) -> SquareAnalysis:
    """With what runs off the screen; a flat top without noise is a state, and no lost peak."""
    step = found.step_volts
    flat = off_screen(samples, step, without_steps(found.noise_volts, step))
    if flat and not flat.is_sure:
        beyond = max(2.0 * step, LEAST_RINGING * (found.high_volts - found.low_volts))
        is_high = flat.high and float(samples.max()) > found.high_volts + beyond
        is_low = flat.low and float(samples.min()) < found.low_volts - beyond
        flat = OffScreen(is_high, is_low, is_sure=is_high or is_low)
    return replace(found, off_screen=flat)


def _recorded(samples: FloatArray) -> Record:
    levels = state_levels(samples)
    edges = transitions(samples, levels, _MOST_EDGES)
    if not edges:
        raise ValueError("the capture holds no whole transition")
    return Record(samples, levels, edges)


def _shortened(record: Record) -> Record:
    """The record up to the last edge that is looked at."""
    if len(record.edges) < _MOST_EDGES:
        return record
    until = math.floor(record.edges[-1].start)
    return Record(record.samples[:until], record.levels, record.edges[:-1])


def _half_period(edges: tuple[Transition, ...]) -> float | None:
    """Half of the period in samples, from edges of one direction where there are two."""
    if len(edges) < 2:
        return None
    last = len(edges) - 1 if len(edges) % 2 else len(edges) - 2
    if last < 2:
        return edges[1].middle - edges[0].middle
    return (edges[last].middle - edges[0].middle) / last


def _straightened(record: Record, decay: float) -> Record:
    """Undo a first-order high-pass: the wave plus its decay times its own integral."""
    alternating = record.samples - whole_mean(record)
    # trapezium rule, so that an edge's middle sample counts half to either side
    integral = np.empty_like(alternating)
    integral[0] = 0.0
    np.cumsum(0.5 * (alternating[1:] + alternating[:-1]), out=integral[1:])
    # where the record begins must not lift the states
    whole = whole_periods(record)
    integral -= integral.mean() if whole is None else integral[whole].mean()
    return _recorded(record.samples + decay * integral)
