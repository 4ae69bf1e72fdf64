"""The supply of the simulated board: transformer, bridge, reservoirs, and how they give way.

The bridge conducts only while the transformer stands higher than the reservoir, so the winding
gives its whole charge in short pulses. How far the rail falls follows from one balance: the
charge that the pulses bring in a half period is the charge that the load takes out of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

_MOST_STEPS = 200
"""Far more than any current needs; a rail of a microampere takes about forty."""


@dataclass(frozen=True, slots=True)
class RailState:
    """One rail under a steady load."""

    mean_volts: float
    """Magnitude, as a DC voltmeter shows it [V]."""
    ripple_volts: float
    """Peak to peak [V]."""
    current: float
    """Mean current taken from the rail [A]."""
    charging: float
    """Mean current of the pulses: what is taken, and what leaks away in the reservoir [A]."""
    winding_rms: float
    """RMS current of the pulses [A]."""
    source_watts: float
    """What the ideal winding gives [W]."""
    resistance_watts: float
    """Lost in winding and wiring [W]."""
    diode_watts: float
    """Lost in the bridge [W]."""
    reservoir_watts: float
    """Lost in the reservoir: its series resistance and its leak [W]."""

    @property
    def trough_volts(self) -> float:
        """Lowest point of the rail [V]: what limits the largest sine."""
        return self.mean_volts - self.ripple_volts / 2.0

    @property
    def output_watts(self) -> float:
        """What the rail delivers [W]."""
        return self.mean_volts * self.current


@dataclass(frozen=True, slots=True)
class DualSupply:
    """Transformer with two equal windings, bridge, and a reservoir on each rail."""

    secondary_volts: float = 24.0
    """One winding at its rated load and nominal mains [V RMS]."""
    rating_va: float = 160.0
    """All windings together [VA]."""
    windings: int = 2
    regulation: float = 0.06
    """Rise of a winding from rated load to none, share of the rated volts [1]."""
    mains_ratio: float = 1.0
    """Mains over its nominal value [1]."""
    second_winding_ratio: float = 1.0
    """Volts of the second winding over the first's [1]."""
    diode_volts: float = 0.9
    """Forward drop of the one diode in each charging path [V]."""
    minus_extra_volts: float = 0.0
    """What the negative rail loses beyond the positive one [V]."""
    wiring_ohms: float = 0.06
    """Diode slope, wiring and reservoir together [ohm]."""
    minus_extra_ohms: float = 0.0
    """Resistance in the negative rail's charging path beyond the positive one's [ohm]."""
    reservoir_farads: float = 10e-3
    """On each rail [F]."""
    reservoir_ohms: float = 0.015
    """Series resistance of a reservoir, part of the wiring [ohm]."""
    plus_leak_amps: float = 0.0
    """What leaks away through the positive rail's reservoir [A]."""
    mains_hertz: float = 50.0
    core_watts: float = 6.0
    """Iron loss, there whenever the mains is on [W]."""

    @property
    def open_volts(self) -> float:
        """One winding without load [V RMS]."""
        return self.secondary_volts * (1.0 + self.regulation) * self.mains_ratio

    @property
    def winding_ohms(self) -> float:
        """Resistance of one winding with the primary's share [ohm].

        Source:
            The drop at rated current: regulation times volts over VA / (windings x volts).
        """
        rated_amps = self.rating_va / (self.windings * self.secondary_volts)
        return self.regulation * self.secondary_volts / rated_amps

    @property
    def path_ohms(self) -> float:
        """All resistance in a charging path [ohm]."""
        return self.winding_ohms + self.wiring_ohms

    def charging_amps(self, volts: float) -> float:
        """Mean current that the pulses bring to a reservoir.

        Args:
            volts: Diode and reservoir together [V], 0 to the peak of the winding.

        Source:
            (1/pi) times the integral of (Vp sin x - U) / R while it is positive:
            (2 Vp cos x1 - U (pi - 2 x1)) / (pi R), sin x1 = U / Vp. The reservoir is taken as
            steady over the pulse; from memory, the usual first step of rectifier theory.
        """
        peak, start = self._pulse(volts)
        area = 2.0 * peak * math.cos(start) - volts * (math.pi - 2.0 * start)
        return area / (math.pi * self.path_ohms)

    def rail(self, current: float, *, negative: bool = False) -> RailState:
        """The rail at which charge in and charge out balance.

        Args:
            current: Mean current taken from the rail [A], >= 0.
            negative: The negative rail, whose drop may differ.

        Raises:
            ValueError: The current is negative, or more than the transformer can give.
        """
        if negative:
            return self._negative_side()._rail(current)
        return self._rail(current)

    def _negative_side(self) -> DualSupply:
        """The supply as the negative rail knows it."""
        return replace(
            self,
            diode_volts=self.diode_volts + self.minus_extra_volts,
            wiring_ohms=self.wiring_ohms + self.minus_extra_ohms,
            plus_leak_amps=0.0,
        )

    def _rail(self, current: float) -> RailState:
        charging = current + self.plus_leak_amps
        if current < 0.0 or charging >= self.charging_amps(self.diode_volts):
            raise ValueError(f"no rail can deliver {current:g} A from this transformer")
        return self._state(self._balance(charging, self.diode_volts), current)

    def _balance(self, current: float, drop: float) -> float:
        """Diode and reservoir together at which the pulses bring the current [V].

        The current falls with the volts and is convex, so that Newton's steps from below never
        overshoot: they end where rounding no longer lets them rise.
        """
        if current == 0.0:
            return math.sqrt(2.0) * self.open_volts
        volts = drop
        for _ in range(_MOST_STEPS):
            peak, start = self._pulse(volts)
            width = math.pi - 2.0 * start
            excess = self.charging_amps(volts) - current
            higher = volts + excess * math.pi * self.path_ohms / width
            if not volts < higher < peak:
                break
            volts = higher
        return volts

    def _state(self, volts: float, current: float) -> RailState:
        peak, start = self._pulse(volts)
        width = math.pi - 2.0 * start
        # Integrals over the pulse, as means over the half period.
        sine_square = (width + math.sin(2.0 * start)) / 2.0
        sine = 2.0 * math.cos(start)
        ohms, drop = self.path_ohms, self.diode_volts
        source = (peak * peak * sine_square - volts * peak * sine) / (math.pi * ohms)
        square = peak * peak * sine_square - 2.0 * volts * peak * sine + volts * volts * width
        rms = math.sqrt(max(square, 0.0) / math.pi) / ohms
        between_pulses = (1.0 - width / math.pi) / (2.0 * self.mains_hertz)
        charging = current + self.plus_leak_amps
        # What the reservoir takes in and gives out again: the pulses less their mean.
        through = max(rms * rms - charging * charging, 0.0)
        return RailState(
            mean_volts=volts - drop,
            ripple_volts=charging * between_pulses / self.reservoir_farads,
            current=current,
            charging=charging,
            winding_rms=rms,
            source_watts=source,
            resistance_watts=rms * rms * ohms,
            diode_watts=drop * charging,
            reservoir_watts=through * self.reservoir_ohms + self.plus_leak_amps * (volts - drop),
        )

    def _pulse(self, volts: float) -> tuple[float, float]:
        """Peak of the winding [V] and the angle at which a diode begins to conduct [rad]."""
        peak = math.sqrt(2.0) * self.open_volts
        return peak, math.asin(min(max(volts / peak, 0.0), 1.0))

    def secondary(self, state: RailState, *, average: bool, second: bool = False) -> float:
        """What an AC voltmeter shows at a winding that feeds a rail.

        Args:
            state: The rail under its load; the winding feeds both rails in turn.
            average: The meter follows the rectified mean, scaled for a sine; else true RMS.
            second: The second winding.

        Returns:
            Reading [V RMS]; the pulses flatten the tops, so the two kinds of meter differ.
        """
        peak, ohms = math.sqrt(2.0) * self.open_volts, self.winding_ohms
        if average:
            mean = 2.0 * peak / math.pi - ohms * state.charging
            shown = mean * math.pi / (2.0 * math.sqrt(2.0))
        else:
            square = (
                peak * peak / 2.0
                - 2.0 * ohms * state.source_watts
                + (ohms * state.winding_rms) ** 2
            )
            shown = math.sqrt(square)
        return shown * (self.second_winding_ratio if second else 1.0)
