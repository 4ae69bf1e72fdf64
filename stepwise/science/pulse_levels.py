"""State levels and transitions of a captured pulse, in the terms of IEEE Std 181."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, positive

_BINS = 200
_LOW, _MIDDLE, _HIGH = 0.1, 0.5, 0.9


@dataclass(frozen=True, slots=True)
class StateLevels:
    """The two levels between which a wave changes."""

    low_volts: float
    """Low state [V]."""
    high_volts: float
    """High state [V]."""

    @property
    def amplitude_volts(self) -> float:
        """High less low state [V]."""
        return self.high_volts - self.low_volts

    def at(self, share: float) -> float:
        """Reference level [V] at a share [1] of the amplitude: 0.1, 0.5, 0.9."""
        return self.low_volts + share * self.amplitude_volts


@dataclass(frozen=True, slots=True)
class Transition:
    """One change of state; instants in samples from the start of the record."""

    rising: bool
    """From low to high."""
    start: float
    """Last instant at the 10 % level (90 % when falling) before the middle [samples]."""
    middle: float
    """Instant at the 50 % level [samples]."""
    end: float
    """First instant at the 90 % level (10 % when falling) after the middle [samples]."""

    @property
    def duration(self) -> float:
        """From 10 % to 90 % [samples]."""
        return self.end - self.start


def state_levels(volts: ArrayLike, bins: int = _BINS) -> StateLevels:
    """Low and high state of a captured wave.

    The range between lowest and highest sample is split in two halves; the state is the middle
    of the fullest bin of each, refined to the mean of the samples in it and its neighbours.

    Args:
        volts: Samples [V], shape (n,), n >= 8.
        bins: Bins over the whole range [1], >= 8, default 200.

    Returns:
        The levels.

    Raises:
        ValueError: Fewer than eight samples, no two states, or values that are not usable.

    Source:
        IEEE Std 181, histogram with mode of each half (from memory).

    Example:
        >>> state_levels([0, 0, 0, 0, 5, 10, 10, 10, 10]).amplitude_volts
        10.0
    """
    samples = np.asarray(volts, dtype=np.float64)
    if samples.ndim != 1 or samples.size < 8 or bins < 8:
        raise ValueError("volts must be one row of at least eight samples, bins at least eight")
    if not np.isfinite(samples).all():
        raise ValueError("volts must be finite numbers")
    if not np.ptp(samples) > 0.0:
        raise ValueError("the capture does not change: it has one state")
    counts, edges = np.histogram(samples, bins)
    half = bins // 2
    low = _mode(samples, edges, int(np.argmax(counts[:half])))
    high = _mode(samples, edges, half + int(np.argmax(counts[half:])))
    return StateLevels(low, high)


def _mode(samples: FloatArray, edges: FloatArray, fullest: int) -> float:
    """Mean of the samples in the fullest bin and its two neighbours."""
    lower = edges[max(fullest - 1, 0)]
    upper = edges[min(fullest + 2, edges.size - 1)]
    return float(samples[(samples >= lower) & (samples <= upper)].mean())


def transitions(volts: ArrayLike, levels: StateLevels) -> tuple[Transition, ...]:
    """Complete changes of state in a record.

    A change counts when the wave goes all the way from below 10 % to above 90 % or back, so
    that noise or ringing about the middle makes no extra ones.

    Args:
        volts: Samples [V], shape (n,).
        levels: The states.

    Returns:
        The transitions in order; instants interpolated between samples.

    Raises:
        ValueError: The high state is not above the low one.

    Source:
        IEEE Std 181, reference levels of 10, 50 and 90 % of the amplitude (from memory).

    Example:
        >>> [round(each.duration, 6) for each in transitions([0, 0, 5, 10, 10], StateLevels(0, 10))]
        [1.6]
    """
    positive(levels.amplitude_volts, "high less low state")
    share = (np.asarray(volts, dtype=np.float64) - levels.low_volts) / levels.amplitude_volts
    state = np.where(share <= _LOW, -1, np.where(share >= _HIGH, 1, 0))
    settled = np.flatnonzero(state)
    changes = np.flatnonzero(np.diff(state[settled]))
    return tuple(
        _transition(share, int(settled[place]), int(settled[place + 1])) for place in changes
    )


def _transition(share: FloatArray, before: int, after: int) -> Transition:
    """The transition between two samples that lie in different states."""
    rising = bool(share[after] > share[before])
    passage = share[before : after + 1] if rising else 1.0 - share[before : after + 1]
    crossed = before + _crossing(passage, _MIDDLE)
    return Transition(
        rising, before + _crossing(passage, _LOW), crossed, before + _crossing(passage, _HIGH)
    )


def _crossing(passage: FloatArray, level: float) -> float:
    """Where a rising passage first reaches a level, between samples."""
    place = int(np.argmax(passage >= level))
    if place == 0:
        return 0.0
    step = passage[place] - passage[place - 1]
    return place - 1 + float((level - passage[place - 1]) / step)
