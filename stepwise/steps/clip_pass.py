"""One pass of a clip test: its readings, with what the unit and the bench say of the supply."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stepwise.bench import Claim, Load, Supply
from stepwise.quantities import Uncertain, exact, from_terms, rectangular, within_limits
from stepwise.steps.kind import Readings
from stepwise.steps.prompt import Reading, pass_key
from stepwise.steps.work import PassWork

ASK: Mapping[str, str] = MappingProxyType(
    {
        "secondary_volts": "Secondary volts, tone on",
        "rail_plus": "Positive rail, tone on",
        "rail_minus": "Negative rail, tone on",
        "level_at_ten_percent": "Level where the tops are well flattened (10 %)",
    }
)
"""What is asked beside the clean level."""

_RAILS = ("rail_plus", "rail_minus")
_RESERVOIR_TOLERANCE = 0.2
"""Share by which an electrolytic may be off its mark [1]: common practice, no source."""

Sourced = tuple[Uncertain, str]
"""A value with the key of the prompt that it came from; an empty key for what a file says."""


@dataclass(frozen=True, slots=True)
class ClipPass:
    """What the workings of one pass share."""

    meter: str
    """Id of the AC meter."""
    readings: Readings
    work: PassWork

    @property
    def load(self) -> Load | None:
        """The load of the pass."""
        return self.work.known.scene.bench.load(self.work.at.load)

    @property
    def claim(self) -> Claim | None:
        """What is claimed for that load."""
        return self.work.known.scene.claim(self.work.at.load)

    @property
    def supply(self) -> Supply:
        """What feeds the unit."""
        return self.work.known.scene.bench.supply

    def reading(self, name: str) -> Reading | None:
        """A measured reading of this pass."""
        found = self.readings.get(name)
        return found if found is not None and found.measure is not None else None

    def measured(self, name: str) -> Sourced | None:
        """A reading's value with its key."""
        found = self.reading(name)
        return (found.measure, found.key) if found and found.measure is not None else None

    def idle(self, name: str) -> Sourced | None:
        """The reading of that name without signal, from an earlier step and its mains."""
        found = self.work.known.idle(name, self.work.at)
        return None if found is None else (found.measure, found.key or "")

    def on_its_mains(self, volts: Sourced) -> Sourced:
        """Volts that were read in another pass, to be held against those of this one."""
        measure, key = volts
        return self.work.on_its_mains(measure, pass_key(key) if key else ""), key

    def rated(self, name: str) -> float | None:
        """What the unit states of itself, in SI units."""
        return self.work.known.scene.unit.ratings.get(name)

    @property
    def swings_half_a_rail(self) -> bool:
        """One rail and a capacitor in the output: the output stands at half of the rail."""
        return self.work.known.scene.unit.rail_share < 1.0

    def idle_rails(self) -> list[Sourced]:
        """Heights of the rails without signal [V]."""
        return [_upright(rail) for name in _RAILS if (rail := self.idle(name)) is not None]

    def loaded_rails(self) -> list[Sourced]:
        """Heights of the rails with the tone on [V]."""
        return [_upright(rail) for name in _RAILS if (rail := self.measured(name)) is not None]

    def room(self, rail: Sourced) -> Sourced:
        """How far the output may swing to one side below a rail of that height [V]."""
        return rail[0].scaled(self.work.known.scene.unit.rail_share), rail[1]

    def reservoir(self) -> Uncertain | None:
        """Capacitance of one rail's reservoir [F], as far as its mark can be trusted."""
        marked = self.rated("reservoir_capacitance")
        if marked is None:
            return None
        tolerance = rectangular(_RESERVOIR_TOLERANCE * marked)
        return from_terms(marked, [(within_limits("reservoir tolerance"), tolerance)])

    def resistance(self) -> Sourced | None:
        """The load as measured [ohm]."""
        return None if self.load is None else (self.load.resistance, "")


def fact(value: float) -> Sourced:
    """What a file states and nobody doubts."""
    return exact(value), ""


def _upright(rail: Sourced) -> Sourced:
    measure, key = rail
    return measure.scaled(math.copysign(1.0, measure.value)), key
