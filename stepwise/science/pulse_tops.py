"""The tops of a captured square wave: their tilt, their noise, and what rings on them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from stepwise.science.domain import FloatArray
from stepwise.science.pulse_levels import StateLevels, Transition

SETTLED_FROM = (0.4, 0.55, 0.7, 0.8)
"""Shares of a half period after which a top is taken as free of ringing; the later ones where it
still rings after the first."""
_STEEPEST_DECAY = 3.0
"""Time constants within a half period; beyond them a top is a spike whose end is noise."""
_RINGS_ON = 0.05
"""Scatter of a quiet part that rings, over its height, from which on it tells no tilt."""
_CELLS = 48
"""Cells that the settled part of a top is averaged into."""
_FEWEST_CELLS = 4
_LONGEST_EDGE = 0.1
"""Share of a half period that is left out before the next edge, at most."""
_TOLD = 4.0
"""Standard uncertainties that a tilt stands out by: of a handful of tops they are themselves known
to a third, and straightening a tilt that is not there bends the edges."""
_ROUNDED = 1e-9
"""Share of the amplitude that arithmetic may be off by."""
_STILL_RINGS = 1.7
"""Scatter in the first third of a quiet part, over that in the last, from which on it rings."""


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """Samples with what has been found in them."""

    samples: FloatArray
    levels: StateLevels
    edges: tuple[Transition, ...]
    state_volts: float | None = None
    """Standard uncertainty of either state from scatter and from what still moves, without steps
    of the converter [V]; None where the states are those of a histogram."""

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

    def settled_after(self, place: int, share: float = SETTLED_FROM[0]) -> FloatArray:
        """The part of the top after an edge from a share of it on, the new state upwards."""
        edge = self.edges[place]
        is_last = place + 1 == len(self.edges)
        end = self.samples.size - 1.0 if is_last else self.edges[place + 1].middle
        length = end - edge.middle
        first = math.ceil(edge.middle + share * length)
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
    scattered_percent: float
    """Its standard uncertainty from noise, from what rings on and from the scatter of tops [%]."""
    hidden_percent: float
    """Its standard uncertainty from steps of converter and file, and from sampling [%]."""
    share: float
    """Of half a period, from which on the tops were fitted [1]."""

    @property
    def standard_percent(self) -> float:
        """Both together [%]."""
        return math.hypot(self.scattered_percent, self.hidden_percent)

    @property
    def is_noisy(self) -> bool:
        """Whether noise hides more of it than those steps."""
        return self.scattered_percent > self.hidden_percent

    @property
    def is_told(self) -> bool:
        """Whether it stands out of its uncertainty."""
        return abs(self.percent) > _TOLD * self.standard_percent

    @property
    def is_seen(self) -> bool:
        """Whether there is a tilt, or noise that it could hide in; flat steps hide none."""
        return self.is_told or self.is_noisy


def whole_periods(record: Record) -> slice | None:
    """Samples of as many whole periods as there are; None where there is no whole one."""
    edges = record.edges
    last = len(edges) - 1 if len(edges) % 2 else len(edges) - 2
    return slice(round(edges[0].middle), round(edges[last].middle)) if last >= 2 else None


def whole_mean(record: Record) -> float:
    """Mean over whole periods [V]; of the two states where there is no whole one."""
    whole = whole_periods(record)
    return record.levels.at(0.5) if whole is None else float(record.samples[whole].mean())


def top_tilt(record: Record, half_samples: float, earliest: float = 0.0) -> Tilt | None:
    """Decay of the tops towards the mean, from their settled parts.

    Args:
        record: The record.
        half_samples: Half a period [samples].
        earliest: Share of a half period before which it is known to ring [1], default 0.

    Returns:
        The tilt; None where no top is whole, it rings to its end, or is no more than a spike.
    """
    fits: list[_TopFit] = []
    unlike = 0.0
    for share in SETTLED_FROM:
        if share < earliest:
            continue
        before, fits = fits, _fitted_tops(record, share)
        if before and fits:
            # an oscillation leans another way on another stretch, a tilt does not
            unlike = abs(_mean_decay(fits) - _mean_decay(before))
        if 2 * sum(fit.rings for fit in fits) < len(fits):
            break
    found = [fit for fit in fits if not (fit.rings and fit.left > _RINGS_ON)]
    if 2 * len(found) < len(record.edges) - 1 or not found:
        return None
    decays = np.array([fit.decay for fit in found])
    left = np.array([fit.standard for fit in found])
    decay = float(decays.mean())
    if not decay * half_samples < _STEEPEST_DECAY:
        return None
    scatter = float(np.std(decays, ddof=1)) / math.sqrt(len(found)) if len(found) > 2 else 0.0
    # what rings on is alike on all tops, so that averaging them does not lessen it
    noise = math.sqrt(float(np.mean(left**2)))
    is_ringing = noise > _STILL_RINGS * max(scatter * math.sqrt(len(found)), 1e-300)
    alone = noise if len(found) < 3 or is_ringing else noise / math.sqrt(len(found))
    standard = max(alone, scatter, unlike)
    remaining = math.exp(-decay * half_samples)
    scattered = 100.0 * remaining * standard * half_samples
    percent = 100.0 * (1.0 - remaining)
    # its length is off by what lies between two samples
    hidden = math.hypot(100.0 * _ROUNDED, percent / half_samples)
    return Tilt(decay, percent, scattered, hidden, share)


def with_steps(tilt: Tilt, half_samples: float, hidden_decay: float) -> Tilt:
    """The tilt with what steps of converter and file hide of its decay.

    Args:
        tilt: The tilt.
        half_samples: Half a period [samples].
        hidden_decay: Standard uncertainty of the decay from the steps [1/sample].
    """
    hidden = 100.0 * math.exp(-tilt.decay * half_samples) * hidden_decay * half_samples
    return replace(tilt, hidden_percent=math.hypot(tilt.hidden_percent, hidden))


@dataclass(frozen=True, slots=True)
class _TopFit:
    """An exponential fitted to the quiet part of one top."""

    decay: float
    """[1/sample]"""
    standard: float
    """Its standard uncertainty from what the fit leaves [1/sample]."""
    left: float
    """What it leaves, RMS over the height [1]."""
    rings: bool
    """Whether that dies away, as ringing does and noise does not."""


def _mean_decay(fits: list[_TopFit]) -> float:
    return float(np.mean([fit.decay for fit in fits]))


def _fitted_tops(record: Record, share: float) -> list[_TopFit]:
    mean, fits = whole_mean(record), []
    for place in range(len(record.edges) - 1):
        quiet = record.settled_after(place, share)
        fit = _fitted_top(quiet - (mean if record.edges[place].rising else -mean))
        if fit is not None:
            fits.append(fit)
    return fits


def _fitted_top(top: FloatArray) -> _TopFit | None:
    """Fit one top, averaged first, so that its logarithm sees little noise."""
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
    rings = first > _STILL_RINGS * last
    if rings:
        # what still oscillates hardly leans on a slope whose ends weigh nothing
        slope, _ = _line(at, np.log(heights), weight * np.hanning(cells + 2)[1:-1])
    share = weight / weight.sum()
    away = at - share @ at
    spread = math.sqrt(float((share * share * away * away) @ residual**2))
    standard = spread / float((share * away) @ away)
    return _TopFit(-slope, standard, math.sqrt(float(share @ residual**2)), rings)


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
