"""The unit under test: who it is, what it bears, and what its seller says of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from stepwise.quantities import format_value

RATINGS: Mapping[str, str] = MappingProxyType(
    {
        "reservoir_rating": "V",
        "minimum_load": "ohm",
        "maximum_load": "ohm",
        "input_resistance": "ohm",
        "input_capacitor": "F",
        "output_capacitor": "F",
        "sensitivity": "V",
        "maximum_supply": "V",
        "heatsink_limit": "C",
        "reservoir_capacitance": "F",
    }
)
"""What a unit may state of itself, each with its SI unit. All may be named in limits."""


_CLIPPED = 5.0
"""[%] A claim at this distortion or more speaks of a clipped wave, not of clean power: common
practice, no source."""


@dataclass(frozen=True, slots=True)
class Claim:
    """One thing the seller says: so many watts, into this load, at this distortion."""

    power: float
    """[W]"""
    load: float | None = None
    """[ohm]; None where the seller does not say, which is worth a flag by itself."""
    distortion: float | None = None
    """[%]; None where the seller does not say."""

    @property
    def is_clipped(self) -> bool:
        """Whether it was made well into clipping."""
        return self.distortion is not None and self.distortion >= _CLIPPED

    @property
    def is_about(self) -> str:
        """Name of the result that it is a claim about; clean power where nothing is said."""
        return "power_at_ten_percent" if self.is_clipped else "power"

    @property
    def at(self) -> str:
        """Its distortion as the end of a phrase, " at 10 %"; empty where none is stated."""
        return "" if self.distortion is None else f" at {format_value(self.distortion, '%')}"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit under test."""

    name: str
    channels: tuple[str, ...] = ("left", "right")
    ratings: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Name -> value in SI units, names from `RATINGS`."""
    claims: tuple[Claim, ...] = ()
    serial: str = ""
    price: str = ""
    remarks: str = ""

    @property
    def rail_share(self) -> float:
        """Share of a rail that the output may swing over to one side of where it rests [1].

        With one rail and a capacitor in the output it rests at half of the rail, so that the
        stage works, and takes power, as one between two rails of half the height.

        Source:
            The upper device alone draws from the rail, half sines of mean Up / (pi R):
            Pi = Us Up / (pi R) = 2 (Us / 2) Up / (pi R), class B as in Boylestad and Nashelsky
            chapter 12.
        """
        return 0.5 if "output_capacitor" in self.ratings else 1.0

    def bears(self, load_ohms: float) -> bool:
        """Whether a load is within what the unit may be given."""
        # A load marked 8 ohm may measure 7.8; nominal values are compared, so 1 % suffices.
        lowest = self.ratings.get("minimum_load", 0.0)
        highest = self.ratings.get("maximum_load")
        return load_ohms >= lowest * 0.99 and (highest is None or load_ohms <= highest * 1.01)

    def claim_for(self, load_ohms: float) -> Claim | None:
        """The claim that holds for a load: the one naming it, else one that names none."""
        for claim in self.claims:
            if claim.load is not None and abs(claim.load - load_ohms) <= 0.05 * load_ohms:
                return claim
        return next((claim for claim in self.claims if claim.load is None), None)
