"""The edges of a captured pulse laid over one another, and read through their noise.

Samples of many edges, each at its own place between the instants of the clock, show one edge
more finely than any of them. A figure is read off a parabola fitted to the samples around it,
so that the noise of single samples neither moves a crossing nor adds to a peak.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from stepwise.science.domain import FloatArray
from stepwise.science.pulse_levels import StateLevels, Transition

_BEFORE, _AFTER = 4.0, 6.0
"""Durations kept before the middle of an edge and after it; IEEE Std 181 looks for
aberrations within three."""
_MOST_POINTS = 60_000
_FEWEST_POINTS = 6
"""Samples that a parabola is fitted to."""
_SURE = 0.003
"""Standard deviation that is aimed at, share of a duration or of the amplitude; noise that is
less is left as it is, since every fit rounds a corner a little."""
_SURE_PEAK = 0.001
"""The same for a peak, where the highest of several fits counts."""
_SURE_SLOPE = 0.024
"""The same for a slope, share of the amplitude a duration."""
_LEAST_SLOPE, _WIDEST_SLOPE = 0.05, 0.3
"""Half-width of the fit that a slope is taken from, in durations."""
_WIDER, _LIFTED = 1.5, 1.5
"""Times as wide a fit that tells what rounding takes of a slope; standard deviations of one fit
that the steepest of seventeen is off by (of seeded straight edges)."""
_PARABOLA = 1.5
"""Standard deviation in the middle of a fit, over that of a sample and the root of their number."""
_LEVEL_SPAN = 0.2
"""Share of the amplitude that a fit about a crossing covers to either side, at most: beyond it
lie the corners of the edge."""
_WIDEST = 0.45
"""Greatest half-width of a fit about a crossing, in durations."""
_FROM_EDGE = 0.65
"""Durations from the middle within which samples belong to the edge, a little more than where a
straight one begins and ends: a parabola over its corner would swing beyond it."""
_WIDEST_PEAK = 0.6
"""The same about a peak: over it the crest of a ringing differs from a parabola by less than
1 % of its height."""
_CHANCES = 2.6
"""Independent values that the highest of noise is among in each half-width: of 150 seeded rows of
noise of 2 to 40 half-widths each, the mean of the highest fits 2.3 to 2.9."""
_CELLS = 8
"""Cells over that half-width."""


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """All edges of one direction, as one that rises from 0 to 1."""

    times: FloatArray
    """From the middle of its edge [samples], shape (n,), ascending."""
    shares: FloatArray
    """Of the amplitude, from the state that is left [1], shape (n,)."""
    which: NDArray[np.int64]
    """Place of a sample's own edge among them, from 0, shape (n,)."""
    duration: float
    """Mean duration as single samples show it [samples]."""
    count: int
    """Edges laid over one another."""

    @property
    def density(self) -> float:
        """Samples of all edges in the time of one [1]."""
        span = float(self.times[-1] - self.times[0])
        return self.times.size / span if span > 0.0 else 1.0


@dataclass(frozen=True, slots=True)
class Read:
    """A figure read off an edge."""

    value: float
    """In the unit of its axis."""
    standard: float
    """Standard uncertainty from the scatter of samples, same unit."""


def laid_over(
    samples: FloatArray, levels: StateLevels, edges: tuple[Transition, ...], *, rising: bool
) -> Edge | None:
    """Lay the edges of one direction over one another.

    Args:
        samples: The record [V], shape (n,).
        levels: Its states.
        edges: All its edges, in order.
        rising: Which of them.

    Returns:
        The edge; None where there is none of that direction.
    """
    own = [place for place, edge in enumerate(edges) if edge.rising is rising]
    if not own:
        return None
    duration = float(np.median([edges[place].duration for place in own]))
    spread = max(duration, 1.0)
    per_edge = (_BEFORE + _AFTER) * spread
    stride = max(1, math.ceil(per_edge / _MOST_POINTS))
    own = own[: max(1, int(_MOST_POINTS * stride / per_edge))]
    times, shares, which = [], [], []
    for number, place in enumerate(own):
        first, last = _reach(edges, place, spread, samples.size)
        at = np.arange(first, last, stride)
        share = (samples[first:last:stride] - levels.low_volts) / levels.amplitude_volts
        times.append(at - edges[place].middle)
        shares.append(share if rising else 1.0 - share)
        which.append(np.full(at.size, number))
    together = np.concatenate(times)
    order = np.argsort(together, kind="stable")
    return Edge(
        together[order], np.concatenate(shares)[order], np.concatenate(which)[order], duration,
        len(own),
    )  # fmt: skip


def _reach(edges: tuple[Transition, ...], place: int, spread: float, size: int) -> tuple[int, int]:
    """Samples that belong to an edge, short of its neighbours."""
    edge = edges[place]
    begin = edges[place - 1].end if place else 0.0
    end = edges[place + 1].start if place + 1 < len(edges) else size - 1.0
    first = max(math.ceil(begin), math.ceil(edge.middle - _BEFORE * spread), 0)
    last = min(math.floor(end), math.floor(edge.middle + _AFTER * spread), size - 1)
    return first, last + 1


def crossing(edge: Edge, level: float, noise: float, state: float) -> Read | None:
    """When an edge passes a level.

    Args:
        edge: The edge.
        level: Share of the amplitude [1].
        noise: Standard deviation of a sample, share of the amplitude [1].
        state: Standard uncertainty of the level itself, share of the amplitude [1].

    Returns:
        The instant [samples] from the middle; None where it cannot be told.
    """
    at, slope = _coarse_crossing(edge, level), 0.8 / max(edge.duration, 1e-9)
    fit = None
    for _ in range(4):
        samples = (_PARABOLA * noise / (_SURE * slope * edge.duration)) ** 2
        widest = min(_LEVEL_SPAN / slope, _WIDEST * edge.duration)
        least = _FEWEST_POINTS / (2.0 * edge.density)
        if samples < _FEWEST_POINTS / 2 or least > widest:
            return _between(edge, level, math.hypot(noise, state))
        half = min(max(samples / (2.0 * edge.density), least), widest)
        fit = _parabola(edge, at, half)
        if fit is None or not fit.slope > 0.0:
            return None
        step = _root(fit, level)
        if step is None or abs(step) > fit.half:
            return None
        at, slope = at + step, fit.slope
    if fit is None:
        return None
    return Read(at, math.hypot(noise * fit.value_factor, state) / fit.slope)


def _between(edge: Edge, level: float, noise: float) -> Read | None:
    """A crossing between two samples, where noise does not ask for more."""
    inside = np.abs(edge.times) <= 1.5 * max(edge.duration, 1.0)
    times, shares = edge.times[inside], edge.shares[inside]
    is_above = shares >= level
    upward = np.flatnonzero(is_above[1:] & ~is_above[:-1])
    if upward.size == 0:
        return None
    # noise hastens the first crossing as much as it delays the last one of the same rise
    near = upward[np.abs(times[upward] - times[upward[0]]) <= 0.5 * edge.duration]
    found = []
    for place in (near[0], near[-1]):
        part = (level - shares[place]) / (shares[place + 1] - shares[place])
        found.append(times[place] + part * (times[place + 1] - times[place]))
    return Read(float(np.mean(found)), noise * edge.duration / 0.8)


def _coarse_crossing(edge: Edge, level: float) -> float:
    """Where as many samples lie before as are below the level: noise does not hasten it."""
    inside = np.abs(edge.times) <= 1.5 * max(edge.duration, 1.0)
    below = int(np.count_nonzero(edge.shares[inside] < level))
    times = edge.times[inside]
    return float(times[min(below, times.size - 1)]) if times.size else 0.0


@dataclass(frozen=True, slots=True)
class _Parabola:
    """A fit about one instant."""

    value: float
    slope: float
    bend: float
    half: float
    value_factor: float
    """Standard deviation of the value over that of a sample [1]."""
    slope_factor: float


def _parabola(edge: Edge, at: float, half: float) -> _Parabola | None:
    """Fit a parabola to the samples within `half` of an instant, more widely where too few."""
    nearest = np.searchsorted(edge.times, at)
    for _ in range(8):
        first, last = np.searchsorted(edge.times, (at - half, at + half))
        enough = last - first >= _FEWEST_POINTS and first < nearest < last
        if enough:
            break
        half *= 1.5
    if not enough:
        return None
    x = (edge.times[first:last] - at) / half
    design = np.stack((np.ones_like(x), x, x * x))
    curvature = design @ design.T
    if np.linalg.cond(curvature) > 1e8:
        return None
    inverse = np.linalg.inv(curvature)
    value, slope, bend = inverse @ (design @ edge.shares[first:last])
    return _Parabola(
        float(value), float(slope) / half, float(bend) / half**2, half,
        math.sqrt(inverse[0, 0]), math.sqrt(inverse[1, 1]) / half,
    )  # fmt: skip


def _root(fit: _Parabola, level: float) -> float | None:
    """Distance to where a fit passes a level, on the rising branch nearest to its middle."""
    missing = level - fit.value
    if abs(fit.bend) * fit.half < 1e-6 * fit.slope:
        return missing / fit.slope
    inner = fit.slope**2 + 4.0 * fit.bend * missing
    return (math.sqrt(inner) - fit.slope) / (2.0 * fit.bend) if inner >= 0.0 else None


def steepest(edge: Edge, duration: float, noise: float) -> Read | None:
    """Steepest slope of an edge between its 10 % and 90 % levels.

    Args:
        edge: The edge.
        duration: From 10 % to 90 % [samples].
        noise: Standard deviation of a sample, share of the amplitude [1].

    Returns:
        Share of the amplitude a sample [1]; None where too few samples lie on the edge.
    """
    best, at = None, 0.0
    wanted = math.sqrt(3.0) * noise * duration / (_SURE_SLOPE * math.sqrt(2.0 * edge.density))
    half = min(max(wanted ** (2.0 / 3.0), _LEAST_SLOPE * duration), _WIDEST_SLOPE * duration)
    for place in np.linspace(-0.5, 0.5, 17):
        fit = _parabola(edge, float(place) * duration, half)
        if fit is None or fit.half > 0.5 * duration:
            continue
        if best is None or fit.slope > best.value:
            best = Read(fit.slope, noise * fit.slope_factor)
            at = float(place) * duration
    if best is None:
        return None
    # what a wider fit rounds off, this one rounds off too; and noise lifts the highest of several
    wider = _parabola(edge, at, _WIDER * half)
    rounded = 0.0 if wider is None else max(best.value - wider.slope, 0.0)
    return Read(best.value, math.hypot(_LIFTED * best.standard, rounded))


def peak(edge: Edge, duration: float, noise: float, *, after: bool) -> Read:
    """How far an edge passes the new state after it, or the old state before it.

    Args:
        edge: The edge.
        duration: From 10 % to 90 % [samples].
        noise: Standard deviation of a sample, share of the amplitude [1].
        after: The new state's side; False for the old state's.

    Returns:
        Share of the amplitude [1], at least 0, less what noise alone lifts the highest of as many
        places by as may be the highest.
    """
    # mirrored, what comes before an edge is what comes after it
    times = edge.times if after else -edge.times
    beyond = edge.shares - 1.0 if after else -edge.shares
    wanted = times > _FROM_EDGE * duration
    times, beyond = times[wanted], beyond[wanted]
    samples = (_PARABOLA * noise / _SURE_PEAK) ** 2
    if times.size < _FEWEST_POINTS or samples < _FEWEST_POINTS / 2:
        return _highest(beyond, np.full(beyond.size, noise), 1.0)
    half = min(samples / (2.0 * edge.density), _WIDEST_PEAK * max(duration, 1.0))
    smooth, factor = _smoothed(times, beyond, half)
    # a fit that is less sure than one sample is read beside the samples, not among them
    seen = np.isfinite(smooth) & (factor < 0.65)
    if not seen.any():
        return _highest(beyond, np.full(beyond.size, noise), 1.0)
    return _highest(smooth[seen], noise * factor[seen], _CHANCES / _CELLS)


def _highest(heights: FloatArray, standards: FloatArray, chances: float) -> Read:
    """The highest of several heights, as many of which as may be it are chances [1] each.

    Where one stands out it has next to no rival, and nothing is taken off.
    """
    if heights.size == 0:
        return Read(0.0, 0.0)
    place = int(np.argmax(heights))
    height, standard = float(heights[place]), float(standards[place])
    near = height - _lift(chances * heights.size) * standard
    lift = _lift(chances * np.count_nonzero(heights >= near))
    # a crest that hides among its rivals is lifted by less
    return Read(max(0.0, height - lift * standard), standard * math.hypot(1.0, 0.5 * lift))


def _lift(chances: float) -> float:
    """Standard deviations by which the highest of so many normal values is lifted, in the mean.

    Blom's approximation (from memory).
    """
    return NormalDist().inv_cdf((chances - 0.375) / (chances + 0.25)) if chances > 1.0 else 0.0


def _smoothed(times: FloatArray, values: FloatArray, half: float) -> tuple[FloatArray, FloatArray]:
    """Parabolas fitted about every cell of a row; not a number where samples are too few."""
    cell = half / _CELLS
    place = (times / cell).astype(np.int64)
    size = int(place.max()) + 1
    counts = np.bincount(place, minlength=size).astype(np.float64)
    sums = np.bincount(place, weights=values, minlength=size)
    reach = np.arange(-_CELLS, _CELLS + 1) / _CELLS
    inner = slice(_CELLS, _CELLS + size)
    moments = [np.convolve(counts, reach[::-1] ** power)[inner] for power in range(5)]
    right = [np.convolve(sums, reach[::-1] ** power)[inner] for power in range(3)]
    curvature = np.empty((size, 3, 3))
    for row in range(3):
        for column in range(3):
            curvature[:, row, column] = moments[row + column]
    # where samples lie to one side only, a parabola is read beyond its support
    is_amid = np.abs(moments[1]) < 0.3 * moments[0]
    usable = (moments[0] >= _FEWEST_POINTS) & is_amid & (np.linalg.cond(curvature) < 1e6)
    smooth, factor = np.full(size, np.nan), np.full(size, np.nan)
    if usable.any():
        inverse = np.linalg.inv(curvature[usable])
        smooth[usable] = np.einsum("ij,ji->i", inverse[:, 0, :], np.stack(right)[:, usable])
        factor[usable] = np.sqrt(inverse[:, 0, 0])
    return smooth, factor
