"""The bench: meters, loads, oscillator and supply, with how well each is known."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum

from stepwise.bench.accuracy import Accuracy, ScaleResolution
from stepwise.quantities import (
    Form,
    Uncertain,
    exact,
    format_value,
    from_terms,
    rectangular,
    within_limits,
)

_ROUNDING = 1e-9
"""Of a logarithm, so that 2 V over 2000 counts are one millivolt and not ten."""


class MeterType(StrEnum):
    """How an instrument shows its value."""

    ANALOGUE = "analogue"
    DIGITAL = "digital"
    OSCILLOSCOPE = "oscilloscope"


class Detector(StrEnum):
    """What an AC meter's pointer follows."""

    AVERAGE = "average"
    """Rectified mean, scaled for a sine: reads high on a clipped wave."""
    RMS = "rms"


@dataclass(frozen=True, slots=True)
class Meter:
    """One instrument."""

    id: str
    type: MeterType
    accuracy: Accuracy
    unit: str = "V"
    """SI unit that it reads."""
    form: Form = Form.PLAIN
    ranges: tuple[float, ...] = ()
    """Full scales in the SI unit, ascending."""
    resolution: ScaleResolution | None = None
    detector: Detector = Detector.RMS
    counts: int | None = None
    """Highest number that a digital display shows."""
    decibel_step: float = 0.5
    """Finest step read on the decibel scale [dB]."""
    name: str = ""

    @property
    def title(self) -> str:
        """What people call it."""
        return self.name or f"{self.id} meter"

    def digit(self, shown: float, full_scale: float | None = None) -> float | None:
        """One count of a digital display that shows a value.

        Args:
            shown: What it shows, without sign, in its SI unit.
            full_scale: The range in use, in that unit, where it is known; else the lowest one
                that holds the value is taken, and where the meter states none, the finest that
                its counts allow.

        Returns:
            The digit, a power of ten in the SI unit; None where its counts are not known, or
            where nothing is shown and no range is known.
        """
        if not self.counts:
            return None
        if full_scale is None:
            full_scale = next((each for each in self.ranges if shown <= each), None)
        if full_scale is None:
            digit_at_most = shown / self.counts
        else:
            # A display of 3999 counts shows 4 V but for one count.
            digit_at_most = full_scale / (self.counts + 1)
        if not digit_at_most > 0.0:
            return None
        return float(10.0 ** math.ceil(math.log10(digit_at_most) - _ROUNDING))


@dataclass(frozen=True, slots=True)
class Load:
    """A dummy load."""

    nominal: float
    """[ohm]; the name by which passes are told apart."""
    measured: float
    """[ohm]"""
    relative_uncertainty: float = 0.0
    """Half-width of what the measured value may be off, share of it [1], rectangular."""
    rating: float | None = None
    """[W]"""

    @property
    def label(self) -> str:
        """Plain spelling, the same in keys, tables and files: "8 ohm"."""
        return load_label(self.nominal)

    @property
    def title(self) -> str:
        """For people: "8 Ω"."""
        return format_value(self.nominal, "ohm")

    @property
    def resistance(self) -> Uncertain:
        """The measured resistance [ohm]; its error is shared by all that is read with it."""
        half_width = self.relative_uncertainty * self.measured
        source = within_limits(f"load {self.label}")
        return from_terms(self.measured, [(source, rectangular(half_width))])


def load_label(nominal_ohms: float) -> str:
    """Plain name of a load: 8.0 -> "8 ohm"."""
    return f"{nominal_ohms:g} ohm"


@dataclass(frozen=True, slots=True)
class Supply:
    """What feeds the unit."""

    kind: str = "transformer"
    secondary: float | None = None
    """RMS volts of one winding, as marked [V]."""
    windings: int = 1
    rating: float | None = None
    """[VA]"""
    mains_hertz: float = 50.0
    regulation: float | None = None
    """Rise of a winding from rated load to none, over its rated volts [%]."""


@dataclass(frozen=True, slots=True)
class Oscillator:
    """The source of tone."""

    source_resistance: float = 0.0
    """[ohm]"""
    relative_uncertainty: float = 0.0


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything on the bench but the unit."""

    name: str
    meters: tuple[Meter, ...] = ()
    loads: tuple[Load, ...] = ()
    supply: Supply = field(default_factory=Supply)
    oscillator: Oscillator = field(default_factory=Oscillator)

    def meter(self, meter_id: str) -> Meter | None:
        """The meter of that id, or None."""
        return next((meter for meter in self.meters if meter.id == meter_id), None)

    def graticule(self) -> Meter | None:
        """The oscilloscope, or None."""
        return next((m for m in self.meters if m.type is MeterType.OSCILLOSCOPE), None)

    def ohmmeter(self) -> Meter | None:
        """The first instrument that reads resistance, or None."""
        return next((meter for meter in self.meters if meter.unit == "ohm"), None)

    def load(self, label: str | None) -> Load | None:
        """The load of that label, or None."""
        return next((load for load in self.loads if load.label == label), None)

    def source_resistance(self) -> Uncertain:
        """Source resistance of the oscillator [ohm]."""
        value = self.oscillator.source_resistance
        if not value:
            return exact(0.0)
        half_width = value * self.oscillator.relative_uncertainty
        source = within_limits("oscillator resistance")
        return from_terms(value, [(source, rectangular(half_width))])
