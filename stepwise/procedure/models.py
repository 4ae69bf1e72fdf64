"""What the three kinds of TOML files may say: the raw fields, before they are given a meaning.

Steps are not listed here: each kind of step brings its own fields from `stepwise.steps`.
"""

from __future__ import annotations

from typing import Annotated

import msgspec

from stepwise.bench import Detector, MeterType
from stepwise.judge import MarkFields
from stepwise.steps import (
    ClipFields,
    ConfirmFields,
    NoteFields,
    ReadingsFields,
    SquareFields,
    SweepFields,
    ThermalFields,
)

AnyStep = (
    ConfirmFields
    | ReadingsFields
    | ClipFields
    | SweepFields
    | SquareFields
    | ThermalFields
    | NoteFields
)
"""A step of any kind; a test holds this against `KINDS`."""


def _text(description: str, longest: int = 200, shortest: int = 0) -> msgspec.Meta:
    return msgspec.Meta(min_length=shortest, max_length=longest, description=description)


def _quantity(description: str, *examples: str, longest: int = 60) -> msgspec.Meta:
    return msgspec.Meta(
        min_length=1, max_length=longest, description=description, examples=list(examples)
    )


class _Table(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True
):
    """A table in which unknown keys are errors."""


class ProcedureHead(_Table, frozen=True, kw_only=True):
    """What a procedure is."""

    title: Annotated[str, _text("One line, shown wherever the procedure is named", 80, 1)]
    revision: Annotated[
        int, msgspec.Meta(ge=1, description="Counted up with every change of the procedure")
    ]
    summary: Annotated[str, _text("One or two sentences: what it covers", 400, 1)]
    minutes: (
        Annotated[int, msgspec.Meta(ge=1, le=10_000, description="How long it takes about")] | None
    ) = None


class ProcedureFile(_Table, frozen=True, kw_only=True):
    """A procedure for testing an audio power amplifier: its head and its steps, in order."""

    procedure: ProcedureHead
    step: Annotated[tuple[AnyStep, ...], msgspec.Meta(min_length=1, description="Steps, in order")]
    mark: Annotated[
        tuple[MarkFields, ...],
        msgspec.Meta(
            max_length=40, description="How a unit is marked out of ten, criterion by criterion"
        ),
    ] = ()


class UnitHead(_Table, frozen=True, kw_only=True):
    """Which unit it is."""

    name: Annotated[str, _text("What people call it", 60, 1)]
    channels: Annotated[
        tuple[Annotated[str, _text("Name of a channel", 20, 1)], ...],
        msgspec.Meta(min_length=1, max_length=16, description="Its channels, in order"),
    ] = ("left", "right")
    serial: Annotated[str, _text("Serial number or mark", 60)] = ""
    price: Annotated[str, _text("What it cost, with the currency", 60)] = ""
    remarks: Annotated[str, _text("Anything else worth keeping", 2000)] = ""


class RatingsFields(_Table, frozen=True, kw_only=True):
    """What the unit bears and is made of. All may be named in limits and formulas."""

    reservoir_rating: (
        Annotated[str, _quantity("Voltage printed on the reservoir capacitors", "50 V")] | None
    ) = None
    minimum_load: Annotated[str, _quantity("Lowest load it bears", "4 ohm")] | None = None
    maximum_load: Annotated[str, _quantity("Highest load it is meant for", "16 ohm")] | None = None
    input_resistance: Annotated[str, _quantity("Resistance of the input", "22 kohm")] | None = None
    input_capacitor: Annotated[str, _quantity("Capacitor in the input", "2.2 uF")] | None = None
    output_capacitor: Annotated[str, _quantity("Capacitor in the output", "1 mF")] | None = None
    sensitivity: Annotated[str, _quantity("Input for full power, RMS", "775 mV")] | None = None
    maximum_supply: Annotated[str, _quantity("Highest supply, one rail, DC", "40 V")] | None = None
    heatsink_limit: Annotated[str, _quantity("Hottest the heatsink may be", "80 C")] | None = None
    reservoir_capacitance: Annotated[str, _quantity("Reservoir of one rail", "10 mF")] | None = None


class ClaimFields(_Table, frozen=True, kw_only=True):
    """One thing that the seller says of its power."""

    power: Annotated[str, _quantity("Claimed power", "60 W")]
    load: Annotated[str, _quantity("Into this load; left out if not said", "4 ohm")] | None = None
    distortion: (
        Annotated[str, _quantity("At this distortion; left out if not said", "10 %")] | None
    ) = None


class UnitFile(_Table, frozen=True, kw_only=True):
    """A unit under test: identity, ratings, and what its seller claims."""

    unit: UnitHead
    ratings: RatingsFields = RatingsFields()
    claim: tuple[ClaimFields, ...] = ()


class BenchHead(_Table, frozen=True, kw_only=True):
    """Which bench it is."""

    name: Annotated[str, _text("What people call it", 60, 1)]


class MeterFields(_Table, frozen=True, kw_only=True):
    """One instrument, and how far it may be off."""

    id: Annotated[
        str,
        msgspec.Meta(
            pattern="^[a-z0-9][a-z0-9-]*$",
            max_length=40,
            description="Lower-case letters, digits and hyphens; procedures name it so",
            examples=["ac", "dc", "thermometer"],
        ),
    ]
    type: Annotated[MeterType, msgspec.Meta(description="How it shows its value")]
    reads: Annotated[
        str, _quantity("Unit, and for volts and amperes the form", "V rms", "V dc", "ohm", "C")
    ] = "V"
    ranges: Annotated[
        tuple[Annotated[str, _quantity("Full scale of a range", "3 V")], ...],
        msgspec.Meta(max_length=40, description="Full scales"),
    ] = ()
    accuracy: Annotated[
        str,
        _quantity(
            "Limits of error as the maker states them, joined by +",
            "3 % of full scale",
            "0.5 % + 2 digits",
            "1.5 C",
            longest=120,
        ),
    ]
    resolves: (
        Annotated[
            str,
            _quantity("How finely the scale is read", "1/4 division of 30", "1/10 division"),
        ]
        | None
    ) = None
    detector: Annotated[
        Detector, msgspec.Meta(description="What an AC meter's pointer follows")
    ] = Detector.RMS
    counts: (
        Annotated[int, msgspec.Meta(ge=9, le=10**9, description="Highest number that it shows")]
        | None
    ) = None
    decibel_step: Annotated[str, _quantity("Finest step read on the decibel scale", "0.5 dB")] = (
        "0.5 dB"
    )
    name: Annotated[str, _text("What people call it", 60)] = ""


class LoadFields(_Table, frozen=True, kw_only=True):
    """One dummy load."""

    nominal: Annotated[str, _quantity("As it is called", "8 ohm")]
    measured: (
        Annotated[str, _quantity("As it was measured; else the nominal value", "8.06 ohm")] | None
    ) = None
    uncertainty: (
        Annotated[
            str,
            _quantity(
                "How far that may be off; else 1 % if measured, 5 % if not", "0.5 %", "0.05 ohm"
            ),
        ]
        | None
    ) = None
    rating: Annotated[str, _quantity("Power that it bears", "100 W")] | None = None


class SupplyFields(_Table, frozen=True, kw_only=True):
    """What feeds the unit."""

    kind: Annotated[str, _text("Sort of supply, such as transformer", 60, 1)] = "transformer"
    secondary: Annotated[str, _quantity("One winding as marked, RMS", "24 V")] | None = None
    windings: Annotated[int, msgspec.Meta(ge=1, le=12, description="How many of them")] = 1
    rating: Annotated[str, _quantity("Rating", "160 VA")] | None = None
    regulation: (
        Annotated[str, _quantity("Rise of a winding from rated load to none", "8 %")] | None
    ) = None
    mains: Annotated[str, _quantity("Frequency of the mains", "50 Hz")] = "50 Hz"


class OscillatorFields(_Table, frozen=True, kw_only=True):
    """The source of tone."""

    source_resistance: Annotated[str, _quantity("Source resistance", "600 ohm")] = "0 ohm"
    uncertainty: Annotated[str, _quantity("How far that may be off", "10 %")] = "0 %"


class BenchFile(_Table, frozen=True, kw_only=True):
    """A bench: instruments, loads, supply and oscillator, each with how well it is known."""

    bench: BenchHead
    meter: tuple[MeterFields, ...] = ()
    load: tuple[LoadFields, ...] = ()
    supply: SupplyFields = SupplyFields()
    oscillator: OscillatorFields = OscillatorFields()
