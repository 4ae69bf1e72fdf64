"""A captured square wave: rise time, overshoot, preshoot, tilt, ringing, slew rate.

Terms and levels follow IEEE Std 181; percentages are of the amplitude between the two states.
With a tilted top the states are found on the tops straightened by their own exponential, so
that sag is not read as overshoot. Edges are laid over one another and read through their noise
(`pulse_edge`), so that neither the noise of an 8-bit oscilloscope nor its steps add to a peak.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.converter import converter_step, left_by_steps, without_steps, written_step
from stepwise.science.converter_limit import NOWHERE, OffScreen, off_screen
from stepwise.science.domain import FloatArray, positive
from stepwise.science.pulse_edge import Edge, Read, crossing, laid_over, peak, steepest
from stepwise.science.pulse_levels import Transition, state_levels, transitions
from stepwise.science.pulse_shape import shaped
from stepwise.science.pulse_steps import decay_hidden_by_steps, own_noise
from stepwise.science.pulse_tops import (
    Record,
    Tilt,
    top_after,
    top_tilt,
    whole_mean,
    whole_periods,
    with_steps,
)
from stepwise.science.ringing import Ringing, fit_ringing
from stepwise.science.wave_kind import refuse_no_square

_MOST_EDGES = 200
"""Edges that are looked at: more of them say nothing that these do not."""
_SETTLED_BAND = 0.02
"""Share of the amplitude about a state within which it counts as settled."""
_RINGING_DURATIONS = 200.0
_RINGING_CELLS = 12.0
"""Length of a top that is fitted, and cells a duration, in durations of the edge."""
_FEWEST_SAMPLES = 12
_ALIVE = 0.1
"""Share of the largest swing down to which a ringing is worth fitting."""
_LEAST_RINGING = 0.005
"""Overshoot from which on a ringing is looked for, over the amplitude."""
_DIED_AWAY = 0.002
"""Share of the amplitude below which a ringing leans on no tilt."""
_STANDS_OUT = 2.0
"""And over the standard uncertainty of the overshoot."""


@dataclass(frozen=True, slots=True)
class SquareStandard:
    """Standard uncertainties of an analysis.

    From the scatter of samples, their interval and the steps of the converter; what the
    oscilloscope's scales may be off comes on top.
    """

    square_hertz: float | None
    """[Hz]"""
    level_volts: float
    """Of either state [V]."""
    rise_time_s: float | None
    """[s]"""
    fall_time_s: float | None
    """[s]"""
    overshoot_percent: float
    """[%]"""
    preshoot_percent: float
    """[%]"""
    tilt_percent: float | None
    """[%]"""
    corner_hertz: float | None
    """[Hz]"""
    slew_volts_per_s: float
    """[V/s]"""
    settling_s: float | None
    """[s]"""


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
    """From 10 % to 90 %, of the rising edges [s]; None without one."""
    fall_time_s: float | None
    """From 90 % to 10 %, of the falling edges [s]; None without one."""
    overshoot_percent: float
    """Largest passing of the new state after an edge, mean of both directions [%]."""
    preshoot_percent: float
    """Largest passing of the old state before an edge, mean of both directions [%]."""
    tilt_percent: float | None
    """Sag of a top from its edge to the next, exact exponential [%]; None when no whole half
    period is in the record."""
    corner_hertz: float | None
    """First-order corner that the tilt stands for [Hz]."""
    is_tilt_seen: bool
    """Whether there is a tilt to speak of, or noise that one could hide in: on tops that are as
    flat as the steps of converter and file tell, there is none."""
    settling_s: float | None
    """From the middle of an edge until the wave stays within 2 % of its new state [s]; None
    where noise hides it or the record ends before."""
    ringing: Ringing | None
    """The oscillation after the edges; None when there is none to speak of."""
    slew_volts_per_s: float
    """Steepest slope of an edge between 10 % and 90 % [V/s]."""
    edges: int
    """Complete transitions that were read [1]."""
    noise_volts: float
    """Scatter of the samples on settled tops [V RMS]."""
    step_volts: float
    """Step of the converter [V]; 0 where none shows."""
    standard: SquareStandard
    """How sure these figures are."""
    off_screen: OffScreen = NOWHERE
    """Where the trace runs into the limit of the converter."""


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
        return _limited(_Reading(record, rate, step).analysis(), record.samples)
    first = _Reading(record, rate, step, closely=False)
    tilt = top_tilt(record, half_samples, first.settled_from(half_samples))
    tilt = tilt and _with_steps(tilt, record, half_samples, max(step, written_step(record.samples)))
    is_tilted = tilt is not None and tilt.is_told
    straight = _straightened(record, tilt.decay) if tilt and is_tilted else record
    found = _Reading(straight, rate, step, half_samples, tilt).analysis()
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
        beyond = max(2.0 * step, _LEAST_RINGING * (found.high_volts - found.low_volts))
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


class _Reading:
    """The figures of one straightened record."""

    def __init__(
        self, record: Record, rate: float, step: float, half_samples: float | None = None,
        tilt: Tilt | None = None, *, closely: bool = True,
    ) -> None:  # fmt: skip
        self.record, self.rate, self.step = record, rate, step
        self.half_samples, self.tilt, self.closely = half_samples, tilt, closely
        self.amplitude = record.levels.amplitude_volts
        self.noise = record.noise_volts() / self.amplitude
        relative = self.step / self.amplitude
        self.floor = left_by_steps(relative, without_steps(self.noise, relative))
        """What steps of the converter leave however many samples are averaged [1]."""
        self.state = math.hypot(self.floor, self.noise / math.sqrt(record.samples.size / 4.0))
        """Of either state [1]; about a quarter of the samples lie on its quiet tops."""
        laid = (
            laid_over(record.samples, record.levels, record.edges, rising=rising)
            for rising in (True, False)
        )
        self.laid = tuple(each for each in laid)
        self.durations = tuple(None if e is None else self._duration(e) for e in self.laid)

    def analysis(self) -> SquareAnalysis:
        """Everything together."""
        overshoot, preshoot = self._peak(after=True), self._peak(after=False)
        rise, fall = (self._seconds(each) for each in self.durations)
        slew, settling = self._slew(), self._settling()
        levels, tilt = self.record.levels, self.tilt
        hertz, sure_hertz = self._frequency()
        least = max(_LEAST_RINGING, _STANDS_OUT * overshoot.standard)
        is_tilted = tilt is not None and self.half_samples is not None
        return SquareAnalysis(
            square_hertz=hertz,
            low_volts=levels.low_volts,
            high_volts=levels.high_volts,
            rise_time_s=None if rise is None else rise.value,
            fall_time_s=None if fall is None else fall.value,
            overshoot_percent=100.0 * overshoot.value,
            preshoot_percent=100.0 * preshoot.value,
            tilt_percent=tilt.percent if tilt and is_tilted else None,
            corner_hertz=tilt.decay * self.rate / (2.0 * math.pi) if tilt and is_tilted else None,
            is_tilt_seen=bool(tilt and is_tilted and tilt.is_seen),
            settling_s=None if settling is None else settling.value / self.rate,
            ringing=self._ringing() if overshoot.value > least else None,
            slew_volts_per_s=slew.value,
            edges=len(self.record.edges),
            noise_volts=self.noise * self.amplitude,
            step_volts=self.step,
            standard=SquareStandard(
                square_hertz=sure_hertz,
                level_volts=self.amplitude * self.state,
                rise_time_s=None if rise is None else rise.standard,
                fall_time_s=None if fall is None else fall.standard,
                overshoot_percent=100.0 * overshoot.standard,
                preshoot_percent=100.0 * preshoot.standard,
                tilt_percent=tilt.standard_percent if tilt and is_tilted else None,
                corner_hertz=self._corner_standard(),
                slew_volts_per_s=slew.standard,
                settling_s=None if settling is None else settling.standard / self.rate,
            ),
        )

    def _corner_standard(self) -> float | None:
        if self.tilt is None or self.half_samples is None:
            return None
        # of 1 - exp(-x), the exponent's own share
        remaining = 1.0 - self.tilt.percent / 100.0
        exponent = self.tilt.standard_percent / 100.0 / remaining
        return exponent / self.half_samples * self.rate / (2.0 * math.pi)

    def _duration(self, edge: Edge) -> Read:
        """From 10 % to 90 % [samples]: of a model of the edge, else between two crossings.

        As single samples show it where an edge has too few.
        """
        modelled = shaped(edge, self.noise, self.state) if self.closely else None
        if modelled is not None:
            return modelled
        low, high = (crossing(edge, level, self.noise, self.state) for level in (0.1, 0.9))
        clock = 1.0 / math.sqrt(6.0 * edge.count)  # two instants, each within a sample
        if low is None or high is None or not high.value > low.value:
            return Read(edge.duration, clock)
        # what lies between two samples is known the better the more of them lie on the edge
        between = clock / max(1.0, edge.duration) ** 2
        return Read(high.value - low.value, math.hypot(low.standard, high.standard, between))

    def _seconds(self, duration: Read | None) -> Read | None:
        if duration is None:
            return None
        return Read(duration.value / self.rate, duration.standard / self.rate)

    def _peak(self, *, after: bool) -> Read:
        """Mean of both directions."""
        found = [
            peak(edge, duration.value, self.noise, after=after)
            for edge, duration in zip(self.laid, self.durations, strict=True)
            if edge is not None and duration is not None
        ]
        scatter = math.hypot(*(each.standard for each in found)) / len(found)
        value = sum(each.value for each in found) / len(found)
        return Read(value, math.hypot(scatter, self.state, self.floor))

    def _slew(self) -> Read:
        """The steeper direction [V/s]; the chord where an edge has too few samples."""
        found = []
        for edge, duration in zip(self.laid, self.durations, strict=True):
            if edge is None or duration is None:
                continue
            slope = steepest(edge, duration.value, self.noise)
            chord = 0.8 / duration.value
            if slope is None or slope.value < chord:
                slope = Read(chord, chord * duration.standard / duration.value)
            found.append(slope)
        best = max(found, key=lambda each: each.value)
        scale = self.amplitude * self.rate
        return Read(best.value * scale, math.hypot(best.standard, self.floor * best.value) * scale)

    def _frequency(self) -> tuple[float | None, float | None]:
        if self.half_samples is None:
            return None, None
        hertz = self.rate / (2.0 * self.half_samples)
        durations = [each.value for each in self.durations if each is not None]
        jitter = math.hypot(1.0 / math.sqrt(12.0), self.noise * max(durations) / 0.8)
        span = self.half_samples * max(len(self.record.edges) - 1, 1)
        return hertz, hertz * math.sqrt(2.0) * jitter / span

    def _top(self) -> tuple[FloatArray, float, float]:
        """Mean top after its edges, its samples a cell, and its noise [share of amplitude]."""
        duration = max((each.value for each in self.durations if each is not None), default=1.0)
        cell = max(1, int(duration / _RINGING_CELLS))
        longest = math.ceil(_RINGING_DURATIONS * max(duration, 1.0))
        top, edges = top_after(self.record, cell, longest)
        return top, float(cell), self.noise / math.sqrt(cell * edges)

    def settled_from(self, half_samples: float) -> float:
        """Share of a half period after which a ringing has died away [1]."""
        overshoot = self._peak(after=True)
        stands_out = overshoot.value > max(_LEAST_RINGING, _STANDS_OUT * overshoot.standard)
        ringing = self._ringing() if stands_out else None
        if ringing is None:
            return 0.0
        share = ringing.amplitude_volts / self.amplitude
        ratio = min(ringing.damping_ratio, 0.999)
        decay = 2.0 * math.pi * ringing.hertz / self.rate * ratio / math.sqrt(1.0 - ratio**2)
        return max(0.0, math.log(max(share / _DIED_AWAY, 1.0)) / decay / half_samples)

    def _ringing(self) -> Ringing | None:
        top, cell, noise = self._top()
        if top.size < _FEWEST_SAMPLES:
            return None
        size = np.abs(top)
        alive = int(
            np.flatnonzero(size >= max(_ALIVE * size.max(), min(3.0 * noise, size.max())))[-1]
        )
        return fit_ringing(
            top[: max(2 * alive, _FEWEST_SAMPLES)] * self.amplitude, self.rate / cell
        )

    def _settling(self) -> Read | None:
        top, cell, noise = self._top()
        if top.size < _FEWEST_SAMPLES or 3.0 * noise > _SETTLED_BAND:
            return None
        outside = np.flatnonzero(np.abs(top) > _SETTLED_BAND)
        if outside.size == 0:
            last = 0
        elif outside[-1] + 1 >= top.size:
            return None
        else:
            last = int(outside[-1]) + 1
        duration = max(each.value for each in self.durations if each is not None)
        return Read(last * cell + 0.5 * duration, math.hypot(0.5 * cell, 0.1 * duration))
