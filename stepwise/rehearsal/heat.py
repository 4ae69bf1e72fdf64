"""Heat of the simulated board: where the watts went, and how warm each place is by now."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

PLACES = ("heatsink", "transformer", "rectifier", "regulator", "reservoirs")
"""Places whose heat is followed."""


@dataclass(frozen=True, slots=True)
class Cooling:
    """How each place gives its heat to the room."""

    ambient_celsius: float = 21.0
    heatsink_kelvin_per_watt: float = 0.7
    heatsink_joules_per_kelvin: float = 420.0
    transformer_kelvin_per_watt: float = 2.2
    transformer_joules_per_kelvin: float = 650.0
    rectifier_kelvin_per_watt: float = 6.0
    rectifier_joules_per_kelvin: float = 30.0
    regulator_kelvin_per_watt: float = 22.0
    regulator_joules_per_kelvin: float = 6.0
    reservoirs_kelvin_per_watt: float = 9.0
    reservoirs_joules_per_kelvin: float = 80.0
    device_kelvin_per_watt: float = 0.35
    """From a channel's power devices to the heatsink [K/W]; they follow within seconds."""

    def place(self, name: str) -> tuple[float, float]:
        """Thermal resistance to the room [K/W] and heat capacity [J/K].

        Raises:
            ValueError: The place is none of `PLACES`.
        """
        if name not in PLACES:
            raise ValueError(f"“{name}” is none of {', '.join(PLACES)}")
        return (
            float(getattr(self, f"{name}_kelvin_per_watt")),
            float(getattr(self, f"{name}_joules_per_kelvin")),
        )


def _cold() -> Mapping[str, float]:
    return MappingProxyType(dict.fromkeys(PLACES, 0.0))


@dataclass(frozen=True, slots=True)
class Warmth:
    """How far each place stands above the room, at a time."""

    cooling: Cooling
    seconds: float = 0.0
    """Since the rehearsal began [s]."""
    rise: Mapping[str, float] = field(default_factory=_cold)
    """Place -> kelvins above the room."""

    def celsius(self, place: str) -> float | None:
        """Temperature of a place [degrees Celsius]; None for one that is not followed."""
        if place not in self.rise:
            return None
        return self.cooling.ambient_celsius + self.rise[place]

    def after(self, seconds: float, watts: Mapping[str, float]) -> Warmth:
        """The same board after some time of steady dissipation.

        Args:
            seconds: Time that passes [s], >= 0.
            watts: Place -> what it dissipates meanwhile [W]; a place left out idles.

        Raises:
            ValueError: Time would run backwards.

        Source:
            Exact solution of C dT/dt = P - T/R over the interval.
        """
        if seconds < 0.0:
            raise ValueError(f"time runs forward only, not by {seconds:g} s")
        rise = {place: self._approach(place, seconds, watts.get(place, 0.0)) for place in self.rise}
        return replace(self, seconds=self.seconds + seconds, rise=MappingProxyType(rise))

    def _approach(self, place: str, seconds: float, watts: float) -> float:
        resistance, capacity = self.cooling.place(place)
        final = watts * resistance
        left = math.exp(-seconds / (resistance * capacity))
        return final + (self.rise[place] - final) * left
