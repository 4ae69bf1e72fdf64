"""The tops of a captured square wave: their tilt, their noise, and what rings on them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from stepwise.science.domain import FloatArray
from stepwise.science.pulse_levels import StateLevels, Transition

_SETTLED_FROM = 0.4
"""Share of a half period after which a top is taken as free of ringing."""
_STEEPEST_DECAY = 3.0
"""Time constants within a half period; beyond them a top is a spike whose end is noise."""
_CELLS = 48
"""Cells that the settled part of a top is averaged into."""
_FEWEST_CELLS = 4
_LONGEST_EDGE = 0.1
"""Share of a half period that is left out before the next edge, at most."""
_STILL_RINGS = 1.7
"""Scatter in the first third of a quiet part, over that in the last, from which on it rings."""


@dataclass(frozen=True, slots=True, eq=False)
class Record:
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

    def settled_after(self, place: int) -> FloatArray:
        """The quiet part of the top after an edge, the new state upwards."""
        edge = self.edges[place]
        is_last = place + 1 == len(self.edges)
        end = self.samples.size - 1.0 if is_last else self.edges[place + 1].middle
        length = end - edge.middle
        first = math.ceil(edge.middle + _SETTLED_FROM * length)
        # the next edge leaves its state before its middle; on a steep tilt its 10 % level is
        # reached long before that, so its length is not taken at its word
        before = 0.0 if is_last else min(self.edges[place + 1].duration, _LONGEST_EDGE * length) + 1
        quiet = self.samples[first : max(math.floor(end - before), first)]
        return quiet if edge.rising else -quiet

    def noise_volts(self) -> float:
        """Scatter of the samples about a straight line through the quiet part of a top [V]."""
        scatter = []
        for place in range(min(len(self.edges), 8)):
            quiet = self.settled_after(place)
            if quiet.size < _FEWEST_CELLS:
                continue
            quiet = quiet[:4096]
            at = np.linspace(-1.0, 1.0, quiet.size)
            line = quiet.mean() + at * (quiet @ at) / (at @ at)
            scatter.append(float(np.sum((quiet - line) ** 2)) / max(quiet.size - 2, 1))
        return math.sqrt(float(np.median(scatter))) if scatter else 0.0


@dataclass(frozen=True, slots=True)
class Tilt:
    """How the tops decay towards the mean."""

    decay: float
    """[1/sample]"""
    percent: float
    """Fall over half a period, of the first value [%]."""
    standard_percent: float
    """Its standard uncertainty from noise and from the scatter of the tops [%]."""


def whole_periods(record: Record) -> slice | None:
    """Samples of as many whole periods as there are; None where there is no whole one."""
    edges = record.edges
    last = len(edges) - 1 if len(edges) % 2 else len(edges) - 2
    return slice(round(edges[0].middle), round(edges[last].middle)) if last >= 2 else None


def whole_mean(record: Record) -> float:
    """Mean over whole periods [V]; of the two states where there is no whole one."""
    whole = whole_periods(record)
    return record.levels.at(0.5) if whole is None else float(record.samples[whole].mean())


def top_tilt(record: Record, half_samples: float) -> Tilt | None:
    """Decay of the tops towards the mean, from their settled parts.

    Args:
        record: The record.
        half_samples: Half a period [samples].

    Returns:
        The tilt; None where no top is whole, or it is no more than a spike.
    """
    mean, found, sure = whole_mean(record), [], []
    for place in range(len(record.edges) - 1):
        quiet = record.settled_after(place)
        top = quiet - (mean if record.edges[place].rising else -mean)
        fit = _decay(top)
        if fit is not None:
            found.append(fit)
            sure.append(math.sqrt(12.0 / top.size) / (top.size * abs(float(top.mean()))))
    if not found:
        return None
    decay = float(np.mean(found))
    if not decay * half_samples < _STEEPEST_DECAY:
        return None
    noise = record.noise_volts()
    scatter = float(np.std(found, ddof=1)) / math.sqrt(len(found)) if len(found) > 2 else 0.0
    standard = max(noise * float(np.mean(sure)) / math.sqrt(len(found)), scatter)
    remaining = math.exp(-decay * half_samples)
    return Tilt(decay, 100.0 * (1.0 - remaining), 100.0 * remaining * standard * half_samples)


def _decay(top: FloatArray) -> float | None:
    """Decay of one top [1/sample]; averaged first, so that its logarithm sees little noise."""
    cells = min(_CELLS, top.size)
    if cells < _FEWEST_CELLS:
        return None
    each = top.size // cells
    heights = top[: cells * each].reshape(cells, each).mean(axis=1)
    if not (heights > 0.0).all():
        return None
    at: FloatArray = (np.arange(cells, dtype=np.float64) + 0.5) * each
    # a logarithm spreads the noise of a low end: weigh by the square of the height
    weight = heights**2
    slope, residual = _line(at, np.log(heights), weight)
    third = cells // 3
    first, last = (float(np.std(part)) for part in (residual[:third], residual[-third:]))
    if first > _STILL_RINGS * last:
        # what still oscillates hardly leans on a slope whose ends weigh nothing
        slope, _ = _line(at, np.log(heights), weight * np.hanning(cells + 2)[1:-1])
    return -slope


def _line(at: FloatArray, values: FloatArray, weight: FloatArray) -> tuple[float, FloatArray]:
    """Slope of a weighted straight line, and what it leaves."""
    share = weight / weight.sum()
    away = at - share @ at
    slope = float((share * away) @ values / ((share * away) @ away))
    return slope, values - share @ values - slope * away


def top_after(record: Record, cell: int, longest: int) -> tuple[FloatArray, int]:
    """The mean top after its edges, about its state.

    Args:
        record: The record.
        cell: Samples that are averaged into one [1].
        longest: Most samples after an edge [1].

    Returns:
        Share of the amplitude by which the wave passes its state, shape (n,), and how many
        edges were averaged.
    """
    lengths = [record.stretch_after(place).size for place in range(len(record.edges))]
    # the last top may end early; one that is much shorter than the longest tells nothing more
    length = min(int(0.9 * max(lengths)), longest) // cell * cell
    used = [place for place, each in enumerate(lengths) if each >= length]
    total = np.zeros(length)
    for place in used:
        total += record.stretch_after(place)[:length] - record.state_after(place)
    mean = total.reshape(-1, cell).mean(axis=1) if cell > 1 else total
    return mean / len(used) / record.levels.amplitude_volts, len(used)
