"""State levels and transitions of a captured pulse, in the terms of IEEE Std 181."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stepwise.science.domain import FloatArray, positive

_BINS = 200
_FINER = 5
"""Fine bins in one of the histogram; the mean of a state is taken over those."""
_MODE_BINS = 4
"""Bins to either side of a state's level over which its mean is taken."""
_ROUNDS = 20
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
    of the fullest bin of each, refined to the mean of the samples around it, so that neither
    noise nor the steps of a converter decide which bin is the fullest.

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
    lowest, span = float(samples.min()), float(np.ptp(samples))
    if not span > 0.0:
        raise ValueError("the capture does not change: it has one state")
    fine = bins * _FINER
    # a fifth of the time that numpy's own histogram takes
    place = np.minimum(((samples - lowest) * (fine / span)).astype(np.int32), fine - 1)
    counts: FloatArray = np.bincount(place, minlength=fine).astype(np.float64)
    sums: FloatArray = np.bincount(place, weights=samples, minlength=fine).astype(np.float64)
    coarse = counts.reshape(bins, _FINER).sum(axis=1)
    half = bins // 2
    width = span / bins
    middle = lowest + half * width
    below, above = slice(0, half * _FINER), slice(half * _FINER, fine)
    low = _mode(counts[below], sums[below], lowest, width, int(np.argmax(coarse[:half])))
    high = _mode(counts[above], sums[above], middle, width, int(np.argmax(coarse[half:])))
    return StateLevels(low, high)


def _mode(counts: FloatArray, sums: FloatArray, lowest: float, width: float, fullest: int) -> float:
    """Mean of the samples about the fullest bin, moved until it is their middle.

    Samples weigh less towards the ends of the reach: were they in or out, a converter's steps
    that enter or leave would each hold the mean to a place of its own.
    """
    level = lowest + (fullest + 0.5) * width
    at = lowest + (np.arange(counts.size) + 0.5) * width / _FINER
    for _ in range(_ROUNDS):
        weight = np.maximum(1.0 - ((at - level) / (_MODE_BINS * width)) ** 2, 0.0) ** 2
        total = float(weight @ counts)
        if total == 0.0:
            return level
        before, level = level, float(weight @ sums) / total
        if abs(level - before) < 1e-9 * width:
            break
    return level


def transitions(
    volts: ArrayLike, levels: StateLevels, most: int | None = None
) -> tuple[Transition, ...]:
    """Complete changes of state in a record.

    A change counts when the wave goes all the way from below 10 % to above 90 % or back, so
    that noise or ringing about the middle makes no extra ones.

    Args:
        volts: Samples [V], shape (n,).
        levels: The states.
        most: The first so many only [1]; None (default) for all.

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
    samples = np.asarray(volts, dtype=np.float64)
    is_high, is_low = samples >= levels.at(_HIGH), samples <= levels.at(_LOW)
    settled = np.flatnonzero(is_high | is_low)
    state = is_high[settled]
    changes = np.flatnonzero(state[1:] != state[:-1])[:most]
    return tuple(
        _transition(samples, levels, int(settled[place]), int(settled[place + 1]))
        for place in changes
    )


def _transition(samples: FloatArray, levels: StateLevels, before: int, after: int) -> Transition:
    """The transition between two samples that lie in different states."""
    rising = bool(samples[after] > samples[before])
    share = (samples[before : after + 1] - levels.low_volts) / levels.amplitude_volts
    passage = share if rising else 1.0 - share
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
