"""From what was understood to a value with uncertainty: what the instrument makes of it."""

from __future__ import annotations

import math

from stepwise.bench.accuracy import ScaleResolution
from stepwise.bench.bench import Bench, Meter, MeterType
from stepwise.quantities import Uncertain, Understood, from_terms, rectangular, resolution

_EYE = ScaleResolution(0.1, None)
"""A graticule is read to a tenth of a division: common practice, no source."""
_GRATICULE_HEIGHT = 5.0
"""Divisions that a trace is taken to fill when only a percentage was typed."""
_ZERO_DB_DEFLECTION = math.sqrt(0.6)
"""Where 0 dB lies on a pointer scale that was set to it: 0.775 V on the 1 V range."""


def measure(understood: Understood, meter: Meter | None, bench: Bench, key: str) -> Uncertain:
    """Give a reading the uncertainty of the instrument it was read from.

    Args:
        understood: The entry as read; its `value` and `unit` are kept.
        meter: The instrument that the prompt names, or None for a plain statement.
        bench: The bench, for its oscilloscope when the entry is in divisions.
        key: Key of the prompt; names what only this reading can be off by.

    Returns:
        The value with terms shared by range ("ac 3 V range") and its own ("… pointer").

    Source:
        JCGM 100:2008 4.3.7 for limits of error, F.2.2.1 for resolution; IEC 60051 classes
        refer to full scale (from memory).
    """
    if understood.interval is not None:
        low, high = understood.interval
        return from_terms(
            understood.value, [(f"{key} by touch", rectangular((high - low) / 2.0))]
        )
    if understood.unit == "%":
        return _share(understood, bench, key)
    if understood.unit == "dB" and understood.divisions is None:
        return _decibels(understood, meter, key)
    if understood.divisions is not None:
        return _graticule(understood, bench, key)
    if meter is None:
        return from_terms(understood.value, [(f"{key} digits", resolution(understood.step))])
    if meter.type is MeterType.ANALOGUE:
        return _pointer(understood, meter, key)
    return _display(understood, meter, key)


def _pointer(understood: Understood, meter: Meter, key: str) -> Uncertain:
    full_scale, multiplier = _range_in_use(understood, meter)
    to_value = multiplier * understood.conversion
    class_limit = (
        meter.accuracy.of_scale * full_scale + meter.accuracy.amount
    ) * to_value + meter.accuracy.of_reading * abs(understood.value)
    step = _pointer_step(meter, full_scale) * to_value
    return from_terms(
        understood.value,
        [
            (f"{meter.id} {full_scale:g} range", rectangular(class_limit)),
            (f"{key} pointer", resolution(max(step, 0.0))),
        ],
    )


def _pointer_step(meter: Meter, full_scale: float) -> float:
    finest = meter.resolution
    if finest is None or finest.divisions is None:
        return full_scale / 100.0
    return full_scale * finest.share_of_division / finest.divisions


def _range_in_use(understood: Understood, meter: Meter) -> tuple[float, float]:
    """Full scale and multiplier: as typed, else the lowest range that holds the value.

    People name the range only when it matters to the arithmetic. A value beyond all ranges was
    read through an attenuator or probe, so ranges times ten are tried.
    """
    if understood.range_full_scale is not None:
        return understood.range_full_scale, understood.multiplier
    shown = abs(understood.value / understood.conversion)
    if not meter.ranges:
        return max(shown, understood.step), 1.0
    multiplier = 1.0
    for _ in range(7):
        for full_scale in meter.ranges:
            if shown <= full_scale * multiplier * 1.02:
                return full_scale, multiplier
        multiplier *= 10.0
    return meter.ranges[-1], multiplier


def _display(understood: Understood, meter: Meter, key: str) -> Uncertain:
    size = abs(understood.value)
    digit = _last_digit(understood, meter)
    limit = (
        meter.accuracy.of_reading * size
        + meter.accuracy.digits * digit
        + meter.accuracy.amount
        + meter.accuracy.of_scale * (understood.range_full_scale or size)
    )
    decade = math.floor(math.log10(size)) if size else 0
    shared = math.copysign(rectangular(limit), understood.value)
    return from_terms(
        understood.value,
        [
            (f"{meter.id} decade {decade}", shared),
            (f"{key} digits", resolution(understood.step)),
        ],
    )


def _last_digit(understood: Understood, meter: Meter) -> float:
    """One count of the display: by its counts where known, else by the digits typed."""
    if meter.counts and understood.value:
        shown = abs(understood.value / understood.conversion)
        decades = math.ceil(math.log10(shown / meter.counts))
        return 10.0**decades * understood.conversion
    return understood.step


def _graticule(understood: Understood, bench: Bench, key: str) -> Uncertain:
    """Divisions times volts a division: gain error shared, the eye's own error apart."""
    scope = bench.graticule()
    gain = scope.accuracy.of_reading + scope.accuracy.of_scale if scope else 0.03
    finest = (scope.resolution if scope else None) or _EYE
    divisions = understood.divisions or 0.0
    eye = rectangular(finest.share_of_division)
    if understood.unit == "dB":
        relative = math.hypot(rectangular(gain), eye / divisions) if divisions else 1.0
        return from_terms(understood.value, [(f"{key} eye", 8.685889638 * relative)])
    per_division = abs(understood.value / divisions) if divisions else understood.step
    scope_id = scope.id if scope else "oscilloscope"
    return from_terms(
        understood.value,
        [
            (f"{scope_id} gain", rectangular(gain) * understood.value),
            (f"{key} eye", eye * per_division),
        ],
    )


def _share(understood: Understood, bench: Bench, key: str) -> Uncertain:
    """A percentage that the eye took from a trace: both lengths are off by the eye's step."""
    scope = bench.graticule()
    finest = (scope.resolution if scope else None) or _EYE
    eye = rectangular(finest.share_of_division)
    height = understood.per_division or _GRATICULE_HEIGHT
    ratio = understood.value / 100.0
    spread = 100.0 * math.hypot(eye, ratio * eye) / height
    return from_terms(understood.value, [(f"{key} eye", spread)])


def _decibels(understood: Understood, meter: Meter | None, key: str) -> Uncertain:
    """A level on the decibel scale, relative to a reading set to 0 dB.

    The range's class error is one amount in volts for both readings, so what is left of it in
    the ratio grows with the difference between the deflections. A change of range below the
    scale's last -10 dB brings the level back up the scale; both amounts then count.
    """
    if meter is None or meter.type is not MeterType.ANALOGUE:
        limit = 8.685889638 * meter.accuracy.of_reading if meter else 0.0
        return from_terms(
            understood.value,
            [
                (f"{key} digits", resolution(understood.step)),
                (f"{key} scale", rectangular(limit)),
            ],
        )
    terms = [(f"{key} pointer", resolution(meter.decibel_step))]
    if meter.accuracy.of_scale and understood.value:
        deflection = _ZERO_DB_DEFLECTION * 10.0 ** (understood.value / 20.0)
        same_range = 1.0 / deflection - 1.0 / _ZERO_DB_DEFLECTION
        # Two ranges lie 10 dB apart; a changed range stays near the reference's deflection.
        changed_range = math.sqrt(2.0) / _ZERO_DB_DEFLECTION
        factor = same_range if abs(same_range) < changed_range else changed_range
        limit = 8.685889638 * meter.accuracy.of_scale * factor
        source = f"{meter.id} decibel scale"
        terms.append((source, rectangular(limit)))
    return from_terms(understood.value, terms)
