"""One instrument of a bench from its TOML table, and back."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

from stepwise.bench import (
    Accuracy,
    Meter,
    MeterType,
    ScaleResolution,
    parse_accuracy,
    parse_resolution,
)
from stepwise.errors import NotationError
from stepwise.procedure.locate import Path
from stepwise.procedure.models import MeterFields
from stepwise.procedure.problems import Problems
from stepwise.procedure.quantity_fields import positive, refuse
from stepwise.procedure.shape import placed
from stepwise.procedure.toml_text import quantity_text, share_text
from stepwise.quantities import Form, parse_quantity, same_dimension, si_unit

_FORMS: Mapping[str, Form] = MappingProxyType(
    {
        "": Form.PLAIN,
        "rms": Form.RMS,
        "ac": Form.RMS,
        "dc": Form.DC,
        "peak": Form.PEAK,
        "peak-to-peak": Form.PEAK_TO_PEAK,
    }
)
_READS = "write for instance V rms, V dc, ohm or C"


def meter_from(
    fields: MeterFields, at: Path, out: Problems, *, is_unit_known: bool = True
) -> Meter:
    """An instrument, its quantities read.

    Args:
        fields: Its table.
        at: Place of the table in the file.
        out: Takes the problems; where there are any, the meter is never used.
        is_unit_known: Whether `reads` can be gone by; if not, that is reported already, and
            what hangs on it is not judged.
    """
    unit, form = "", Form.PLAIN
    if is_unit_known:
        unit, form = _reads(fields.reads, (*at, "reads"), out)
    return Meter(
        id=fields.id,
        type=fields.type,
        accuracy=_accuracy(fields.accuracy, unit, (*at, "accuracy"), out),
        unit=unit,
        form=form,
        ranges=_ranges(fields.ranges, unit, (*at, "ranges"), out),
        resolution=_resolution(fields, (*at, "resolves"), out),
        detector=fields.detector,
        counts=fields.counts,
        decibel_step=positive(fields.decibel_step, "dB", (*at, "decibel_step"), out) or 0.0,
        name=fields.name,
    )


def meter_fields(meter: Meter) -> MeterFields:
    """The table that reads back as this instrument."""
    form = "" if meter.form is Form.PLAIN else f" {meter.form.value.lower()}"
    return MeterFields(
        id=meter.id,
        type=meter.type,
        reads=f"{meter.unit}{form}",
        ranges=tuple(quantity_text(each, meter.unit) for each in meter.ranges),
        accuracy=_accuracy_text(meter.accuracy, meter.unit),
        resolves=None if meter.resolution is None else _resolution_text(meter.resolution),
        detector=meter.detector,
        counts=meter.counts,
        decibel_step=quantity_text(meter.decibel_step, "dB"),
        name=meter.name,
    )


def _reads(text: str, at: Path, out: Problems) -> tuple[str, Form]:
    unit_text, _, form_text = text.strip().partition(" ")
    form = _FORMS.get(form_text.strip().lower().replace(" ", "-"))
    if form is None:
        out.add(at, f"“{form_text}” is not a form of reading", _READS)
        form = Form.PLAIN
    try:
        unit = si_unit(unit_text)
    except NotationError as error:
        out.add(at, f"“{unit_text}” {error.reason}", _READS)
        return "", form
    if not unit:
        out.add(at, "names no unit", _READS)
    if form is not Form.PLAIN and unit not in ("V", "A"):
        out.add(at, f"“{form_text}” goes with volts and amperes only", _READS)
    return unit, form


def _ranges(texts: tuple[str, ...], unit: str, at: Path, out: Problems) -> tuple[float, ...]:
    if not unit:
        return ()  # without a unit no range can be judged; that is reported
    found: list[float] = []
    for place, text in placed(texts, at, out):
        value = positive(text, unit, place, out)
        if value is None:
            continue
        if value in found:
            out.add(place, f"“{text}” stands twice", "leave one out")
        found.append(value)
    return tuple(sorted(found))


def _accuracy(text: str, unit: str, at: Path, out: Problems) -> Accuracy:
    try:
        accuracy = parse_accuracy(text)
    except NotationError as error:
        refuse(text, error, at, out)
        return Accuracy()
    parts = (accuracy.of_scale, accuracy.of_reading, accuracy.digits, accuracy.amount)
    if any(not math.isfinite(each) or each < 0 for each in parts):
        out.add(at, f"“{text}” is less than nothing, or without end", "give the size alone")
    elif accuracy.of_scale > 1 or accuracy.of_reading > 1:
        out.add(at, f"“{text}” is more than 100 %", "write for instance 3 % of full scale")
    elif unit and not _amounts_fit(text, unit):
        remedy = f"give the amount in {unit}, as the meter reads"
        out.add(at, f"“{text}” has an amount of another kind", remedy)
    return accuracy


def _amounts_fit(text: str, unit: str) -> bool:
    """Whether every part that is an amount is in what the meter reads: 1.5 C, or 1.5 K."""
    for part in text.split("+"):
        if "%" in part or part.strip().endswith(("d", "digit", "digits")):
            continue
        got = parse_quantity(part).unit
        if not same_dimension(got, unit) and not (got == "K" and unit == "C"):
            return False
    return True


def _accuracy_text(accuracy: Accuracy, unit: str) -> str:
    parts = []
    if accuracy.of_scale:
        parts.append(f"{share_text(accuracy.of_scale)} of full scale")
    if accuracy.of_reading:
        parts.append(f"{share_text(accuracy.of_reading)} of reading")
    if accuracy.digits:
        parts.append(f"{accuracy.digits:.0f} digit{'' if accuracy.digits == 1 else 's'}")
    if accuracy.amount:
        parts.append(quantity_text(accuracy.amount, unit))
    return " + ".join(parts) or "0 % of reading"


def _resolution(fields: MeterFields, at: Path, out: Problems) -> ScaleResolution | None:
    if fields.resolves is None:
        return None
    try:
        finest = parse_resolution(fields.resolves)
    except NotationError as error:
        refuse(fields.resolves, error, at, out)
        return None
    if fields.type is MeterType.ANALOGUE and finest.divisions is None:
        out.add(at, "does not say how many divisions the scale has", "write 1/4 division of 30")
    return finest


def _resolution_text(finest: ScaleResolution) -> str:
    divisions = "" if finest.divisions is None else f" of {finest.divisions:.0f}"
    return f"1/{1.0 / finest.share_of_division:.0f} division{divisions}"
