"""Benches from TOML, and back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any

import msgspec

from stepwise.bench import Bench, Load, Meter, Oscillator, Supply
from stepwise.procedure.locate import Path as Place
from stepwise.procedure.meter_doubts import doubt_meter
from stepwise.procedure.meter_file import meter_fields, meter_from
from stepwise.procedure.models import (
    BenchFile,
    BenchHead,
    LoadFields,
    MeterFields,
    OscillatorFields,
    SupplyFields,
)
from stepwise.procedure.problems import Problems
from stepwise.procedure.quantity_fields import positive, quantity, share
from stepwise.procedure.shape import check_shape, entries, faulty_fields, sound_part
from stepwise.procedure.source import Source, parse_source, read_source
from stepwise.procedure.toml_text import quantity_text, share_text, toml_text

_MEASURED_DOUBT = "1 %"
"""Taken for a load that was measured and not said how well: a common bridge or multimeter."""
_NOMINAL_DOUBT = "5 %"
"""Taken for a load that was not measured: the common tolerance of power resistors."""
_METER_INSTEAD: Mapping[str, str] = MappingProxyType(
    # Of a digital meter nothing is asked that depends on what else it is.
    {"id": "unnamed", "type": "digital", "accuracy": "0 % of reading"}
)
_ANY_LOAD = "1 ohm"


def read_bench(path: Path | str) -> Bench:
    """Read a bench.

    Args:
        path: A TOML file.

    Raises:
        FileProblems: All that is wrong with it.
    """
    return _bench(read_source(Path(path)))


def read_bench_text(text: str, path: Path | str, *, is_recorded: bool = False) -> Bench:
    """Read a bench from its text.

    Args:
        text: The TOML text.
        path: Where it came from, for sentences about it; it need not exist.
        is_recorded: Whether a run was begun with it: then what can be read is taken as it is, so
            that no log is lost by what a later version asks about.

    Raises:
        FileProblems: All that is wrong with it.
    """
    return _bench(parse_source(text, Path(path)), is_recorded=is_recorded)


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
            regulation=_optional_text(supply.regulation, "%"),
            mains=quantity_text(supply.mains_hertz, "Hz"),
        ),
        oscillator=OscillatorFields(
            source_resistance=quantity_text(oscillator.source_resistance, "ohm"),
            uncertainty=share_text(oscillator.relative_uncertainty),
        ),
    )
    return toml_text(msgspec.to_builtins(fields))


def _bench(source: Source, *, is_recorded: bool = False) -> Bench:
    out, data = Problems(source), source.data
    check_shape(BenchFile, data, (), out)
    meters = _meters(data, out, is_recorded=is_recorded)
    loads = _loads(data, out)
    supply = sound_part(SupplyFields, data.get("supply", {}), ("supply",), out)
    supplied = _supply(supply or SupplyFields(), ("supply",), out)
    source_of_tone = sound_part(OscillatorFields, data.get("oscillator", {}), ("oscillator",), out)
    oscillator = _oscillator(source_of_tone or OscillatorFields(), ("oscillator",), out)
    _check_meters_twice(data, out)
    _check_loads_twice(loads, out)
    out.raise_if_any()
    head = msgspec.convert(data["bench"], BenchHead)
    return Bench(head.name, tuple(meters), tuple(load for _, load in loads), supplied, oscillator)


def _meters(data: dict[str, Any], out: Problems, *, is_recorded: bool) -> list[Meter]:
    meters = []
    for at, each in entries(data, "meter"):
        # Ranges cannot be judged by a unit that is itself among the problems.
        is_unit_known = "reads" not in faulty_fields(at, out)
        fields = sound_part(MeterFields, each, at, out, _METER_INSTEAD)
        if fields is not None:
            meter = meter_from(fields, at, out, is_unit_known=is_unit_known)
            meters.append(meter)
            if not is_recorded:
                doubt_meter(fields, meter, at, out)
    return meters


def _loads(data: dict[str, Any], out: Problems) -> list[tuple[Place, Load]]:
    loads = []
    for at, each in entries(data, "load"):
        is_nominal_known = (
            isinstance(each, dict) and "nominal" in each and "nominal" not in faulty_fields(at, out)
        )
        fields = sound_part(LoadFields, each, at, out, {"nominal": _ANY_LOAD})
        if fields is not None:
            load = _load(fields, at, out, is_nominal_known=is_nominal_known)
            loads += [(at, load)] if is_nominal_known else []
    return loads


def _check_meters_twice(data: dict[str, Any], out: Problems) -> None:
    first: dict[str, int] = {}
    for (table, index), each in entries(data, "meter"):
        name = each.get("id") if isinstance(each, dict) else None
        if not isinstance(name, str):
            continue
        if name in first:
            what = f"meter {first[name]} has that id too"
            out.add((table, index, "id"), what, "give each its own")
        first.setdefault(name, int(index) + 1)


def _check_loads_twice(loads: Sequence[tuple[Place, Load]], out: Problems) -> None:
    first: dict[str, Place] = {}
    for at, load in loads:
        if load.label in first:
            what = f"load {int(first[load.label][1]) + 1} is {load.label} too"
            out.add((*at, "nominal"), what, "procedures tell loads apart by it; leave one out")
        first.setdefault(load.label, at)


def _load(fields: LoadFields, at: Place, out: Problems, *, is_nominal_known: bool) -> Load:
    # Values that cannot be read are among the problems, so that such a load is never used.
    nominal = 0.0
    if is_nominal_known:
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
        regulation=positive(fields.regulation, "%", (*at, "regulation"), out),
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
