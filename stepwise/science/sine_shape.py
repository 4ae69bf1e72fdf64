"""One mean period of a captured wave: its peaks, and where its tops begin to flatten."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from stepwise.science.domain import FloatArray

_MOST_CELLS = 256
_SAMPLES_A_CELL = 16
_FEWEST_CELLS = 32
_UNCLIPPED = 0.6
"""Share of the lower peak below which a wave is taken as not yet clipped."""
_SHORTFALL = 0.01
"""Share of the unclipped peak by which a top falls short where clipping is said to begin."""
_SURELY = 3.0
_ABOUT_CREST = 0.06
"""Part of a period about a crest in which a clipped top falls short throughout."""


@dataclass(frozen=True, slots=True, eq=False)
class Period:
    """All periods of a record laid over one another, about the record's mean."""

    turns: FloatArray
    """Middles of the cells [periods], shape (n,), from 0 to 1."""
    volts: FloatArray
    """Mean of the samples in each cell, about the mean of all [V], shape (n,)."""
    standard_volts: float
    """Standard uncertainty of a cell from the scatter of its samples [V]."""


@dataclass(frozen=True, slots=True)
class Clipping:
    """How far the tops of a wave are cut off."""

    positive_volts: float | None
    """Level at which the positive top begins to fall short, above the mean [V]; None where it
    does not."""
    negative_volts: float | None
    """The same of the negative top, below the mean, as a positive number [V]."""
    overdrive: float
    """Peak that the uncut sine would have, over the lower peak that is there [1]; 1 where
    nothing is cut off."""


def laid_period(samples: FloatArray, cycles: float, mean: float, noise: float) -> Period | None:
    """Lay the periods of a record over one another.

    Args:
        samples: The record [V], shape (n,).
        cycles: Periods a sample [1].
        mean: Mean of the record [V].
        noise: Scatter of a sample [V RMS].

    Returns:
        The mean period; None where there are too few samples, or they always fall on the same
        few instants of it.
    """
    cells = min(_MOST_CELLS, samples.size // _SAMPLES_A_CELL)
    if cells < _FEWEST_CELLS:
        return None
    turns = (cycles * np.arange(samples.size)) % 1.0
    place = np.minimum((turns * cells).astype(np.int64), cells - 1)
    counts = np.bincount(place, minlength=cells)
    if counts.min() == 0:
        return None
    volts = np.bincount(place, weights=samples, minlength=cells) / counts - mean
    standard = noise / math.sqrt(float(counts.min()))
    return Period((np.arange(cells) + 0.5) / cells, volts, standard)


def clipping(period: Period) -> Clipping:
    """Where the tops of a wave leave the sine that fits its steep parts.

    Args:
        period: One mean period.

    Returns:
        The clipping; a top counts as clipped when it falls short of that sine by more than 1 %
        of its peak, and by more than noise explains, all about its crest.

    Source:
        Threshold on the departure from the fitted sine, common practice, no source.
    """
    turns, volts = period.turns, period.volts
    lower = min(float(volts.max()), -float(volts.min()))
    steep = np.abs(volts) < _UNCLIPPED * lower
    angle = 2.0 * math.pi * turns
    design = np.column_stack((np.cos(angle), np.sin(angle), np.ones_like(angle)))
    if np.count_nonzero(steep) < 8:
        return Clipping(None, None, 1.0)
    (cosine, sine, level), *_ = np.linalg.lstsq(design[steep], volts[steep], rcond=None)
    size, crest = math.hypot(cosine, sine), math.atan2(sine, cosine) / (2.0 * math.pi)
    ideal = design @ np.array([cosine, sine, level])
    enough = max(_SHORTFALL * size, _SURELY * period.standard_volts)
    positive = _onset(turns - crest, volts, ideal - volts > enough)
    negative = _onset(turns - crest - 0.5, -volts, volts - ideal > enough)
    is_clipped = positive is not None or negative is not None
    return Clipping(positive, negative, max(1.0, size / lower) if is_clipped else 1.0)


def _onset(turns: FloatArray, volts: FloatArray, is_short: FloatArray) -> float | None:
    """Lowest level of a top that falls short, going down from its crest on either side."""
    from_crest = np.abs((turns + 0.5) % 1.0 - 0.5)
    order = np.argsort(from_crest)
    short, level, away = is_short[order], volts[order], from_crest[order]
    about = away <= _ABOUT_CREST
    # the very crest of a barely clipped top is wide enough to be seen, or there is none
    if np.count_nonzero(short[about]) < 0.5 * np.count_nonzero(about):
        return None
    until = int(np.argmin(short)) if not short.all() else short.size
    return float(level[max(until - 1, 0)]) if until else float(level[0])
