"""A channel at work: how far it swings before it clips, and where the watts go.

The supply gives way as the swing grows, and the swing ends where the rail's lowest point, less
what the output stage needs, is met. Each point of working solves the two together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from stepwise.rehearsal.amplifier import Channel
from stepwise.rehearsal.supply import DualSupply, RailState

_HALVINGS = 36
"""From fifty volts down to a nanovolt."""
_PEAK_HALVINGS = 28
"""From fifty times the limit down to a part in five millions of it."""
_ROUNDS = 60
_SETTLED = 1e-7
"""Far below what any pointer shows [V]."""


@dataclass(frozen=True, slots=True)
class Working:
    """Supply and one driven channel, in balance."""

    load_ohms: float
    rms_volts: float
    """At the load, as true RMS [V]."""
    average_volts: float
    """At the load, as a meter shows it that follows the mean and is scaled for a sine [V]."""
    plus: RailState
    minus: RailState

    @property
    def load_watts(self) -> float:
        """Into the load [W]."""
        return self.rms_volts**2 / self.load_ohms


@dataclass(frozen=True, slots=True)
class Stage:
    """One driven channel on its supply, the others idling."""

    channel: Channel
    supply: DualSupply
    load_ohms: float
    idle_amps: float
    """All channels together, each rail [A]."""

    def at(self, peak_volts: float) -> Working:
        """A clean sine of a given peak at the load.

        Args:
            peak_volts: Peak [V], >= 0.

        Raises:
            ValueError: The transformer cannot deliver the current.
        """
        current = self._rail_amps(peak_volts / (math.pi * self.load_ohms))
        rms = peak_volts / math.sqrt(2.0)
        return self._working(rms, rms, current, current)

    def clean(self) -> Working:
        """The largest sine that neither rail cuts off."""
        low, high = 0.0, math.sqrt(2.0) * self.supply.open_volts
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self._is_clean(middle) else (low, middle)
        return self.at(low)

    def _is_clean(self, peak: float) -> bool:
        try:
            working = self.at(peak)
        except ValueError:
            return False
        return peak <= min(self._limits(working.plus, working.minus, (peak, peak)))

    def clipped(self, thd_percent: float = 10.0) -> Working:
        """Driven beyond clipping, to a distortion. Cut hard, each side at its own rail.

        Args:
            thd_percent: Over the fundamental [%], less than a square wave's 48.3.
        """
        working = self.clean()
        plus_limit = minus_limit = math.sqrt(2.0) * working.rms_volts
        for _ in range(_ROUNDS):
            peak = _peak_for_thd(thd_percent, plus_limit, minus_limit)
            working = self._clipped_at(peak, plus_limit, minus_limit)
            before = (plus_limit, minus_limit)
            plus_limit, minus_limit = self._limits(working.plus, working.minus, before)
            if max(abs(plus_limit - before[0]), abs(minus_limit - before[1])) < _SETTLED:
                break
        return working

    def _clipped_at(self, peak: float, plus_limit: float, minus_limit: float) -> Working:
        from stepwise.science import clipped_mean_square

        plus_mean = _half_wave_mean(peak, plus_limit)
        minus_mean = _half_wave_mean(peak, minus_limit)
        square = clipped_mean_square(peak / plus_limit, minus_limit / plus_limit)
        return self._working(
            math.sqrt(square) * plus_limit,
            (plus_mean + minus_mean) * math.pi / (2.0 * math.sqrt(2.0)),
            self._rail_amps(plus_mean / self.load_ohms),
            self._rail_amps(minus_mean / self.load_ohms),
        )

    def _limits(
        self, plus: RailState, minus: RailState, peaks: tuple[float, float]
    ) -> tuple[float, float]:
        """Largest peaks at the load that the rails allow at these currents [V]."""
        channel = self.channel
        ohms = channel.drop_ohms + channel.wiring_ohms
        limiter = channel.limit_amps * self.load_ohms
        below = minus.trough_volts if channel.minus_fuse_whole else 0.0
        return (
            min(
                plus.trough_volts - channel.drop_plus_volts - ohms * peaks[0] / self.load_ohms,
                limiter,
            ),
            min(below - channel.drop_minus_volts - ohms * peaks[1] / self.load_ohms, limiter),
        )

    def _rail_amps(self, signal_amps: float) -> float:
        """Mean current of a rail: the signal's half waves take over from the idle current.

        Source:
            Class B gives Vp / (pi R); the hypotenuse joins it smoothly to the idle current of a
            class-AB stage (common practice, no source).
        """
        own = self.channel.quiescent_amps
        return self.idle_amps - own + math.hypot(own, signal_amps)

    def _working(self, rms: float, average: float, plus: float, minus: float) -> Working:
        return Working(
            self.load_ohms,
            rms,
            average,
            self.supply.rail(plus),
            self.supply.rail(minus, negative=True),
        )


class CleanLevels:
    """Clean levels that were already worked out: a rehearsal asks for the same few often."""

    def __init__(self) -> None:
        self._known: dict[Stage, Working] = {}

    def of(self, stage: Stage) -> Working:
        """The largest sine that neither rail of the stage cuts off."""
        if stage not in self._known:
            self._known[stage] = stage.clean()
        return self._known[stage]


def _half_wave_mean(peak: float, limit: float) -> float:
    """Mean over the whole period of one half of a sine that is cut off at a limit [V].

    Source:
        (1/pi) (A (1 - cos t) + L (pi/2 - t)), sin t = L/A. Own derivation.
    """
    if peak <= limit:
        return peak / math.pi
    start = math.asin(limit / peak)
    return (peak * (1.0 - math.cos(start)) + limit * (math.pi / 2.0 - start)) / math.pi


def _peak_for_thd(thd_percent: float, plus_limit: float, minus_limit: float) -> float:
    """Peak of the sine before it is cut off, for a distortion [V], by bisection."""
    from stepwise.science import thd_for_overdrive

    ratio = minus_limit / plus_limit
    low, high = min(1.0, ratio), 50.0
    for _ in range(_PEAK_HALVINGS):
        middle = 0.5 * (low + high)
        if thd_for_overdrive(middle, ratio) < thd_percent:
            low = middle
        else:
            high = middle
    return high * plus_limit
