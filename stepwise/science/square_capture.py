"""A captured square wave: rise time, overshoot, preshoot, tilt, ringing, slew rate.

Terms and levels follow IEEE Std 181; percentages are of the amplitude between the two states.
With a tilted top the states are found on the tops straightened by their own exponential, so
that sag is not read as overshoot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, positive
from stepwise.science.pulse_levels import StateLevels, Transition, state_levels, transitions
from stepwise.science.ringing import Ringing, fit_ringing

_ABERRATION_DURATIONS = 3.0
"""Length of the region beside a transition, over its duration; default of IEEE Std 181."""
_SETTLED_FROM = 0.4
"""Share of a half period after which a top is taken as free of ringing."""
_STEEPEST_DECAY = 3.0
"""Time constants within a half period; beyond them a top is a spike whose end is noise."""
_FEWEST_SAMPLES = 12
_SLOPE_SAMPLES = 4
_ALIVE = 0.1
"""Share of the largest swing down to which a ringing is worth fitting."""
_LEAST_RINGING = 0.005
"""Overshoot from which on a ringing is looked for, over the amplitude."""


@dataclass(frozen=True, slots=True)
class SquareAnalysis:
    """What a captured square wave shows."""

    square_hertz: float | None
    """Frequency [Hz]; None with a single edge."""
    low_volts: float
    """Low state [V]."""
    high_volts: float
    """High state [V]."""
    rise_time_s: float | None
    """From 10 % to 90 %, mean of the rising edges [s]; None without one."""
    fall_time_s: float | None
    """From 90 % to 10 %, mean of the falling edges [s]; None without one."""
    overshoot_percent: float
    """Largest passing of the new state after an edge, mean of the edges [%]."""
    preshoot_percent: float
    """Largest passing of the old state before an edge, mean of the edges [%]."""
    tilt_percent: float | None
    """Sag of a top from its edge to the next, exact exponential [%]; None when no whole half
    period is in the record."""
    corner_hertz: float | None
    """First-order corner that the tilt stands for [Hz]."""
    ringing: Ringing | None
    """The oscillation after the edges; None when there is none to speak of."""
    slew_volts_per_s: float
    """Steepest slope of an edge between 10 % and 90 % [V/s]."""
    edges: int
    """Complete transitions in the record [1]."""


@dataclass(frozen=True, slots=True, eq=False)
class _Record:
    """Samples with what has been found in them."""

    samples: FloatArray
    levels: StateLevels
    edges: tuple[Transition, ...]

    def stretch_after(self, place: int) -> FloatArray:
        """From the end of an edge to the start of the next, the new state upwards."""
        edge = self.edges[place]
        last = place + 1 == len(self.edges)
        until = self.samples.size if last else math.floor(self.edges[place + 1].start) + 1
        stretch = self.samples[math.ceil(edge.end) : until]
        return stretch if edge.rising else -stretch

    def state_after(self, place: int) -> float:
        """Level of the state that an edge leads to, rising upwards."""
        edge = self.edges[place]
        return self.levels.high_volts if edge.rising else -self.levels.low_volts


def analyse_square(volts: ArrayLike, sample_hertz: float) -> SquareAnalysis:
    """Read a captured square wave as a person reads a screen, but with numbers.

    Args:
        volts: Samples at equal intervals [V], shape (n,), with at least one whole transition.
        sample_hertz: Samples a second [Hz], > 0.

    Returns:
        The analysis.

    Raises:
        ValueError: No transition, or values that are not usable.

    Source:
        IEEE Std 181 (from memory); tilt as in `tilt_percent`; ringing as in `fit_ringing`.

    Example:
        >>> wave = np.tile(np.repeat([-5.0, 5.0], 100), 3)
        >>> round(analyse_square(wave, 1e5).square_hertz)
        500
    """
    rate = positive(sample_hertz, "sample_hertz")
    record = _recorded(np.asarray(volts, dtype=np.float64))
    half_samples = _half_period(record.edges)
    decay = None if half_samples is None else _decay(record, half_samples)
    straight = record if decay is None else _straightened(record, decay)
    overshoot, preshoot = _overshoot(straight), _preshoot(straight)
    square_hertz = None if half_samples is None else rate / (2.0 * half_samples)
    tilt = corner = None
    if decay is not None and half_samples is not None:
        tilt = -100.0 * math.expm1(-decay * half_samples)
        corner = decay * rate / (2.0 * math.pi)
    return SquareAnalysis(
        square_hertz=square_hertz,
        low_volts=straight.levels.low_volts,
        high_volts=straight.levels.high_volts,
        rise_time_s=_mean_duration(straight.edges, rate, rising=True),
        fall_time_s=_mean_duration(straight.edges, rate, rising=False),
        overshoot_percent=100.0 * overshoot,
        preshoot_percent=100.0 * preshoot,
        tilt_percent=tilt,
        corner_hertz=corner,
        ringing=_ringing(straight, rate) if overshoot > _LEAST_RINGING else None,
        slew_volts_per_s=rate * max(_steepest(straight, edge) for edge in straight.edges),
        edges=len(straight.edges),
    )


def _recorded(samples: FloatArray) -> _Record:
    levels = state_levels(samples)
    edges = transitions(samples, levels)
    if not edges:
        raise ValueError("the capture holds no whole transition")
    return _Record(samples, levels, edges)


def _half_period(edges: tuple[Transition, ...]) -> float | None:
    """Half of the period in samples, from edges of one direction where there are two."""
    if len(edges) < 2:
        return None
    last = len(edges) - 1 if len(edges) % 2 else len(edges) - 2
    if last < 2:
        return edges[1].middle - edges[0].middle
    return (edges[last].middle - edges[0].middle) / last


def _mean(record: _Record) -> float:
    """Mean over whole periods; of the two states where there is no whole one."""
    edges = record.edges
    last = len(edges) - 1 if len(edges) % 2 else len(edges) - 2
    if last < 2:
        return record.levels.at(0.5)
    return float(record.samples[round(edges[0].middle) : round(edges[last].middle)].mean())


def _decay(record: _Record, half_samples: float) -> float | None:
    """Decay of the tops towards the mean [1/sample], from their settled parts."""
    mean, found = _mean(record), []
    for place in range(len(record.edges) - 1):
        stretch = record.stretch_after(place)
        top = stretch - (mean if record.edges[place].rising else -mean)
        # the next edge leaves its state before it reaches the first reference level
        corner = top.size - math.ceil(record.edges[place + 1].duration) - 1
        settled = top[int(_SETTLED_FROM * top.size) : max(corner, 0)]
        if settled.size < 4 or not (settled > 0.0).all():
            continue
        place_in_top = np.arange(settled.size, dtype=np.float64)
        # a logarithm spreads the noise of a low end: weigh by the height itself
        slope, _ = np.polyfit(place_in_top, np.log(settled), 1, w=settled)
        found.append(-float(slope))
    decay = float(np.mean(found)) if found else None
    return decay if decay is None or decay * half_samples < _STEEPEST_DECAY else None


def _straightened(record: _Record, decay: float) -> _Record:
    """Undo a first-order high-pass: the wave plus its decay times its own integral."""
    alternating = record.samples - _mean(record)
    # trapezium rule, so that an edge's middle sample counts half to either side
    integral = np.concatenate(([0.0], np.cumsum(0.5 * (alternating[1:] + alternating[:-1]))))
    return _recorded(record.samples + decay * integral)


def _mean_duration(edges: tuple[Transition, ...], rate: float, *, rising: bool) -> float | None:
    durations = [edge.duration for edge in edges if edge.rising is rising]
    return float(np.mean(durations)) / rate if durations else None


def _overshoot(record: _Record) -> float:
    """Mean passing of the new state, over the amplitude."""
    passings = [
        max(0.0, float(stretch.max()) - record.state_after(place))
        for place in range(len(record.edges))
        if (stretch := record.stretch_after(place)).size
    ]
    return float(np.mean(passings)) / record.levels.amplitude_volts if passings else 0.0


def _preshoot(record: _Record) -> float:
    """Mean passing of the old state just before an edge, over the amplitude."""
    passings = []
    for edge in record.edges:
        begin = edge.start - max(_ABERRATION_DURATIONS * edge.duration, 3.0)
        region = record.samples[max(math.floor(begin), 0) : math.floor(edge.start) + 1]
        beyond = (
            record.levels.low_volts - region if edge.rising else region - record.levels.high_volts
        )
        passings.append(max(0.0, float(beyond.max())))
    return float(np.mean(passings)) / record.levels.amplitude_volts


def _ringing(record: _Record, rate: float) -> Ringing | None:
    """Fit the oscillation after the edge that is followed by most samples."""
    longest = max(range(len(record.edges)), key=lambda each: record.stretch_after(each).size)
    beyond = record.stretch_after(longest) - record.state_after(longest)
    if beyond.size < _FEWEST_SAMPLES:
        return None
    size = np.abs(beyond)
    alive = int(np.flatnonzero(size >= _ALIVE * size.max())[-1])
    return fit_ringing(beyond[: max(2 * alive, _FEWEST_SAMPLES)], rate)


def _steepest(record: _Record, edge: Transition) -> float:
    """Steepest slope within an edge [V/sample]: the chord where it has no sample of its own."""
    chord = 0.8 * record.levels.amplitude_volts / edge.duration
    inside = record.samples[math.ceil(edge.start) : math.floor(edge.end) + 1]
    if inside.size < _SLOPE_SAMPLES:
        return chord
    # over several samples, so that noise is not read as slope
    rise = np.abs(inside[_SLOPE_SAMPLES - 1 :] - inside[: 1 - _SLOPE_SAMPLES])
    return max(chord, float(rise.max()) / (_SLOPE_SAMPLES - 1))
