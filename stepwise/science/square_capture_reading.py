"""The figures of one record of a square wave whose tops are level."""

from __future__ import annotations

import math

import numpy as np

from stepwise.science.converter import left_by_steps, without_steps
from stepwise.science.domain import FloatArray
from stepwise.science.pulse_edge import Edge, Read, crossing, laid_over, peak, steepest
from stepwise.science.pulse_shape import shaped
from stepwise.science.pulse_tops import Record, Tilt, top_after
from stepwise.science.ringing import Ringing, fit_ringing
from stepwise.science.square_capture_shown import FastEdges, SquareAnalysis, SquareStandard

_SETTLED_BAND = 0.02
"""Share of the amplitude about a state within which it counts as settled."""
_RINGING_DURATIONS = 200.0
_RINGING_CELLS = 12.0
"""Length of a top that is fitted, and cells a duration, in durations of the edge."""
_ALONE, _TOGETHER, _OF_ALL = 3.0, 2.0, 6
"""Samples between 10 % and 90 % of an edge, in the mean of all of one direction, from which on its
duration is told: with few edges, and with that many samples on all of them. Of 2,340 seeded traces
of 0.3 to 10 samples on an edge, one pole to straight, in step or not, 98 to 100 % of the intervals
of such edges held the truth with `_OF_ALL`, 96 to 100 % with fewer; of edges of less than 1.5
samples 63 to 89 %, of a few of 2 to 2.5 samples 90 %."""
_FEWEST_SAMPLES = 12
_ALIVE = 0.1
"""Share of the largest swing down to which a ringing is worth fitting."""
LEAST_RINGING = 0.005
"""Overshoot from which on a ringing is looked for, over the amplitude."""
_DIED_AWAY = 0.002
"""Share of the amplitude below which a ringing leans on no tilt."""
_STANDS_OUT = 2.0
"""And over the standard uncertainty of the overshoot."""


class Reading:
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
        state = record.state_volts
        if state is None:  # about a quarter of the samples lie on its quiet tops
            state = self.noise / math.sqrt(record.samples.size / 4.0) * self.amplitude
        self.state = math.hypot(self.floor, state / self.amplitude)
        """Of either state [1]."""
        laid = (
            laid_over(record.samples, record.levels, record.edges, rising=rising)
            for rising in (True, False)
        )
        self.laid = tuple(each for each in laid)
        self.durations = tuple(None if e is None else self._duration(e) for e in self.laid)

    def analysis(self) -> SquareAnalysis:
        """Everything together."""
        overshoot, preshoot = self._peak(after=True), self._peak(after=False)
        fast = self._fast()
        rise, fall = (self._seconds(each) for each in self.durations)
        rise = None if fast and fast.rising else rise
        fall = None if fast and fast.falling else fall
        slew, settling = None if fast else self._slew(), self._settling()
        levels, tilt = self.record.levels, self.tilt
        hertz, sure_hertz = self._frequency()
        least = max(LEAST_RINGING, _STANDS_OUT * overshoot.standard)
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
            fast_edges=fast,
            slew_volts_per_s=None if slew is None else slew.value,
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
                slew_volts_per_s=None if slew is None else slew.standard,
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

    def _fast(self) -> FastEdges | None:
        """Edges that too few samples lie on, taken all of one direction together."""
        within = {}
        for rising in (True, False):
            spans = [
                math.ceil(edge.end) - math.floor(edge.start)
                for edge in self.record.edges
                if edge.rising is rising
            ]
            between = sum(spans) - len(spans)
            enough = _TOGETHER if between >= _OF_ALL else _ALONE
            if spans and between < enough * len(spans):
                within[rising] = math.ceil(float(np.median(spans)))
        if not within:
            return None
        most = max(within.values())
        return FastEdges(True in within, False in within, most, most / self.rate)

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
        # without a model what lies between two samples bends as much as it likes
        between = clock / math.sqrt(max(1.0, edge.duration))
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
        # what is left of a lift by noise is alike in both
        scatter = sum(each.standard for each in found) / len(found)
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
        stands_out = overshoot.value > max(LEAST_RINGING, _STANDS_OUT * overshoot.standard)
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
