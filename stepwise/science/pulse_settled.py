"""The states of a pulse from the settled ends of its tops.

The mode of a histogram takes in whatever lies near a state: the tail of an edge that creeps
towards it for long, and pulls it to the other state by a tenth of a percent and more. What is left
of a tail shows by how much the mean still moves along the top.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np

from stepwise.science.domain import FloatArray
from stepwise.science.pulse_levels import StateLevels, Transition, transitions
from stepwise.science.pulse_tops import Record

_ENDS = (1.0 / 2.0, 2.0 / 3.0)
"""Shares of a top from which on its mean is looked at, and taken as the state."""
_LONGEST_EDGE = 0.1
"""Share of a top that is left out before the next edge, at most."""
_REACH, _BIWEIGHT, _ROUNDS = 0.02, 4.685, 5
"""Share of the amplitude about a state in which samples count, or so many times the noise: with
that many Tukey's biweight of normal noise is as sure as a mean within 5 % (from memory)."""
_FEWEST_TOPS = 3
"""Tops that it takes to tell how they scatter."""


def settled(record: Record, leaning: float = 0.0) -> Record:
    """The record with its states taken from the settled ends of its tops.

    Args:
        record: The record, its tops level, its states and edges as a histogram shows them.
        leaning: Standard uncertainty of the tilt that was taken off its tops [1], default 0.

    Returns:
        The record with new states and edges, and how sure the states are; as it is where one has
        no top that is long enough.

    Source:
        IEEE Std 181 lets a state be the mean of a part of the waveform (from memory).
    """
    noise = record.noise_volts()
    reach = max(_REACH * record.levels.amplitude_volts, _BIWEIGHT * noise)
    high, low = (_state(record, noise, reach, is_high=is_high) for is_high in (True, False))
    if high is None or low is None or not high[0] > low[0]:
        return record
    levels = StateLevels(low[0], high[0])
    edges = transitions(record.samples, levels, len(record.edges))
    if len(edges) != len(record.edges):
        return record
    # the end is a third of a top beyond its middle, about which it is straightened
    leant = leaning / 3.0 * 0.5 * levels.amplitude_volts
    state = math.hypot(math.sqrt(0.5 * (high[1] ** 2 + low[1] ** 2)), leant)
    return replace(record, levels=levels, edges=edges, state_volts=state)


def _state(
    record: Record, noise: float, reach: float, *, is_high: bool
) -> tuple[float, float] | None:
    """Level of one state and its standard uncertainty [V]."""
    parts = [part for top in _tops(record, is_high=is_high) if (part := _ends(record, *top))]
    if not parts:
        return None
    early, late = (np.array([part[at].mean() for part in parts]) for at in (0, 1))
    before, count = (sum(part[at].size for part in parts) for at in (0, 1))
    scatter = noise / math.sqrt(count)
    if late.size >= _FEWEST_TOPS:
        scatter = max(scatter, float(np.std(late, ddof=1)) / math.sqrt(late.size))
    # of a tail that falls by two fifths in a sixth of the top, less is left than it moved
    moved = float(late.mean() - early.mean())
    left = math.sqrt(max(moved**2 - noise**2 * (1.0 / before + 1.0 / count), 0.0))
    level = _middle(np.concatenate([part[1] for part in parts]), reach)
    return level, math.hypot(scatter, left)


def _middle(samples: FloatArray, reach: float) -> float:
    """Mean of what lies about the middle of samples: a preshoot beside them moves it little."""
    level = float(np.median(samples))
    for _ in range(_ROUNDS):
        weight = np.maximum(1.0 - ((samples - level) / reach) ** 2, 0.0) ** 2
        total = float(weight.sum())
        if total == 0.0:
            return level
        before, level = level, float(weight @ samples) / total
        if abs(level - before) < 1e-6 * reach:
            break
    return level


def _tops(record: Record, *, is_high: bool) -> list[tuple[float, float]]:
    """From the middle of an edge until before the next begins [samples].

    Of tops that the record cuts off the longest counts, and only where there is no whole one.
    """
    edges = record.edges
    whole = [
        (edge.middle, _until(edge.middle, following))
        for edge, following in pairwise(edges)
        if edge.rising is is_high
    ]
    if whole:
        return whole
    cut = [(0.0, _until(0.0, edges[0]))] if edges[0].rising is not is_high else []
    if edges[-1].rising is is_high:
        cut.append((edges[-1].middle, record.samples.size - 1.0))
    return [max(cut, key=lambda top: top[1] - top[0])] if cut else []


def _until(begin: float, following: Transition) -> float:
    """Where an edge begins to leave its state, before its first reference level."""
    most = _LONGEST_EDGE * (following.middle - begin)
    return following.middle - min(following.duration, most) - 1.0


def _ends(record: Record, begin: float, end: float) -> tuple[FloatArray, FloatArray] | None:
    """The last third of a top and the sixth before it first; None where one has no sample."""
    first, last = (math.ceil(begin + share * (end - begin)) for share in _ENDS)
    early, late = record.samples[first:last], record.samples[last : math.floor(end) + 1]
    return (early, late) if early.size and late.size else None
