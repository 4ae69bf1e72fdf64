"""Benches from TOML, and back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import msgspec

from stepwise.bench import Bench, Load, Oscillator, Supply
from stepwise.procedure.locate import Path as Place
from stepwise.procedure.meter_file import meter_fields, meter_from
from stepwise.procedure.models import (
    BenchFile,
    BenchHead,
    LoadFields,
    OscillatorFields,
    SupplyFields,
)
from stepwise.procedure.problems import Problems
from stepwise.procedure.quantity_fields import positive, quantity, share
from stepwise.procedure.shape import check_shape
from stepwise.procedure.source import Source, parse_source, read_source
from stepwise.procedure.toml_text import quantity_text, share_text, toml_text

_MEASURED_DOUBT = "1 %"
"""Taken for a load that was measured and not said how well: a common bridge or multimeter."""
_NOMINAL_DOUBT = "5 %"
"""Taken for a load that was not measured: the common tolerance of power resistors."""


def read_bench(path: Path | str) -> Bench:
    """Read a bench.

    Args:
        path: A TOML file.

    Raises:
        FileProblems: All that is wrong with it.
    """
    return _bench(read_source(Path(path)))


def read_bench_text(text: str, path: Path | str) -> Bench:
    """Read a bench from its text.

    Args:
        text: The TOML text.
        path: Where it came from, for sentences about it; it need not exist.

    Raises:
        FileProblems: All that is wrong with it.
    """
    return _bench(parse_source(text, Path(path)))


def bench_to_toml(bench: Bench) -> str:
    """A bench as the TOML text that reads back as the same bench."""
    supply, oscillator = bench.supply, bench.oscillator
    fields = BenchFile(
        bench=BenchHead(name=bench.name),
        meter=tuple(meter_fields(meter) for meter in bench.meters),
        load=tuple(_load_fields(load) for load in bench.loads),
        supply=SupplyFields(
            kind=supply.kind,
            secondary=_optional_text(supply.secondary, "V"),
            windings=supply.windings,
            rating=_optional_text(supply.rating, "VA"),
            mains=quantity_text(supply.mains_hertz, "Hz"),
        ),
        oscillator=OscillatorFields(
            source_resistance=quantity_text(oscillator.source_resistance, "ohm"),
            uncertainty=share_text(oscillator.relative_uncertainty),
        ),
    )
    return toml_text(msgspec.to_builtins(fields))


def _bench(source: Source) -> Bench:
    out = Problems(source)
    check_shape(BenchFile, source.data, (), out)
    out.raise_if_any()
    fields = msgspec.convert(source.data, BenchFile)
    meters = [meter_from(meter, ("meter", n), out) for n, meter in enumerate(fields.meter)]
    _check_twice([meter.id for meter in meters], "meter", "id", out)
    loads = [_load(load, ("load", n), out) for n, load in enumerate(fields.load)]
    _check_twice([load.label for load in loads], "load", "nominal", out)
    supply = _supply(fields.supply, ("supply",), out)
    oscillator = _oscillator(fields.oscillator, ("oscillator",), out)
    out.raise_if_any()
    return Bench(fields.bench.name, tuple(meters), tuple(loads), supply, oscillator)


def _check_twice(names: Sequence[str], table: str, field: str, out: Problems) -> None:
    for index, name in enumerate(names):
        if name in names[:index]:
            first = names.index(name) + 1
            out.add((table, index, field), f"{table} {first} has it too", "make them differ")


def _load(fields: LoadFields, at: Place, out: Problems) -> Load:
    # Values that cannot be read are among the problems, so that such a load is never used.
    nominal = positive(fields.nominal, "ohm", (*at, "nominal"), out) or 0.0
    measured = positive(fields.measured, "ohm", (*at, "measured"), out) or nominal
    doubt = fields.uncertainty
    if doubt is None:
        doubt = _NOMINAL_DOUBT if fields.measured is None else _MEASURED_DOUBT
    if nominal and not 0.5 <= measured / nominal <= 2.0:
        what = f"“{fields.measured}” is far from the nominal “{fields.nominal}”"
        out.add((*at, "measured"), what, "measure again, or call it by its true value")
    return Load(
        nominal=nominal,
        measured=measured,
        relative_uncertainty=share(doubt, measured, "ohm", (*at, "uncertainty"), out) or 0.0,
        rating=positive(fields.rating, "W", (*at, "rating"), out),
    )


def _supply(fields: SupplyFields, at: Place, out: Problems) -> Supply:
    return Supply(
        kind=fields.kind,
        secondary=positive(fields.secondary, "V", (*at, "secondary"), out),
        windings=fields.windings,
        rating=positive(fields.rating, "VA", (*at, "rating"), out),
        mains_hertz=positive(fields.mains, "Hz", (*at, "mains"), out) or 0.0,
    )


def _oscillator(fields: OscillatorFields, at: Place, out: Problems) -> Oscillator:
    place = (*at, "source_resistance")
    resistance = quantity(fields.source_resistance, "ohm", place, out) or 0.0
    if resistance < 0:
        out.add(place, f"“{fields.source_resistance}” is below zero", "give 0 ohm or more")
    doubt = share(fields.uncertainty, resistance, "ohm", (*at, "uncertainty"), out)
    return Oscillator(resistance, doubt or 0.0)


def _load_fields(load: Load) -> LoadFields:
    return LoadFields(
        nominal=quantity_text(load.nominal, "ohm"),
        measured=quantity_text(load.measured, "ohm"),
        uncertainty=share_text(load.relative_uncertainty),
        rating=_optional_text(load.rating, "W"),
    )


def _optional_text(value: float | None, unit: str) -> str | None:
    return None if value is None else quantity_text(value, unit)
