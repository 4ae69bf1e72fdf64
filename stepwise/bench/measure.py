"""From what was understood to a value with uncertainty: what the instrument makes of it."""

from __future__ import annotations

import math
from dataclasses import replace

from stepwise.bench.bench import Bench, Meter, MeterType
from stepwise.bench.trace import EYE, heights, on_trace
from stepwise.bench.unnamed import across_a_resistor, without_instrument
from stepwise.quantities import (
    Uncertain,
    Understood,
    from_terms,
    propagate,
    rectangular,
    resolution,
    within_limits,
)

_GRATICULE_HEIGHT = 5.0
"""Divisions that a trace is taken to fill when only a percentage was typed."""
_FLAT_STEP = 0.5
"""[dB] What "flat" cannot tell from none: the step of a usual decibel scale (common practice, no
source)."""
_DECIBELS_PER_NEPER = 20.0 / math.log(10.0)
_ZERO_DB_DEFLECTION = math.sqrt(0.6)
"""Where 0 dB lies on a pointer scale that was set to it: 0.775 V on the 1 V range."""


def measure(
    understood: Understood, meter: Meter | None, bench: Bench, key: str, tolerance: float = 0.0
) -> Uncertain:
    """Give a reading the uncertainty of the instrument it was read from.

    Args:
        understood: The entry as read; its `value` and `unit` are kept.
        meter: The instrument that the prompt names, or None for a plain statement.
        bench: The bench, for its oscilloscope when the entry is in divisions.
        key: Key of the prompt; names what only this reading can be off by.
        tolerance: Limit of error of the resistor that a current is read across, share of it
            [1]; 0 (default) where nobody states one.

    Returns:
        The value with terms shared by range ("ac 3 V range") and its own ("… pointer"). A whole
        number without a unit is a count and has none. A time without an instrument was taken
        by hand. Anything else without an instrument carries its last digit as the least that it
        may be off by (`Uncertain.is_least`): nobody knows more.

    Source:
        JCGM 100:2008 4.3.7 for limits of error, F.2.2.1 for resolution; IEC 60051 classes
        refer to full scale (from memory).
    """
    if understood.interval is not None:
        return _touch(understood.value, understood.interval, key)
    if understood.unit == "%":
        return _share(understood, bench, key)
    if understood.unit == "dB":
        return _level(understood, meter, bench, key)
    return _quantity(understood, meter, bench, key, tolerance)


def _quantity(
    understood: Understood, meter: Meter | None, bench: Bench, key: str, tolerance: float = 0.0
) -> Uncertain:
    is_seen = understood.divisions is not None or (
        meter is not None and meter.type is MeterType.OSCILLOSCOPE
    )
    if is_seen and understood.unit in ("s", "Hz"):
        return on_trace(understood, bench, key)
    if understood.divisions is not None:
        return _graticule(understood, bench, key)
    if meter is None or not understood.unit:
        return without_instrument(understood, key)
    if understood.unit == "A" and meter.unit == "V":
        return across_a_resistor(understood, meter, tolerance, key)
    if meter.type is MeterType.ANALOGUE:
        return _pointer(understood, meter, key)
    return _display(understood, meter, key)


def _touch(value: float, interval: tuple[float, float], key: str) -> Uncertain:
    low, high = interval
    return from_terms(value, [(within_limits(f"{key} by touch"), rectangular((high - low) / 2.0))])


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
            (within_limits(f"{meter.id} {full_scale:g} range"), rectangular(class_limit)),
            (within_limits(f"{key} pointer"), resolution(max(step, 0.0))),
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
    multiplier = understood.multiplier
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
            (within_limits(f"{meter.id} decade {decade}"), shared),
            (within_limits(f"{key} digits"), resolution(understood.step)),
        ],
    )


def _last_digit(understood: Understood, meter: Meter) -> float:
    """One count of the display: by its counts where known, else by the digits typed."""
    to_value = understood.multiplier * understood.conversion
    digit = meter.digit(abs(understood.value / to_value), understood.range_full_scale)
    return understood.step if digit is None else digit * to_value


def _graticule(understood: Understood, bench: Bench, key: str) -> Uncertain:
    """Divisions times volts a division: gain error shared, both lines by the eye apart."""
    scope = bench.graticule()
    gain = scope.accuracy.of_reading + scope.accuracy.of_scale if scope else 0.03
    finest = (scope.resolution if scope else None) or EYE
    worth = understood.per_division or 0.0
    per_division = worth * understood.multiplier * understood.conversion
    scope_id = scope.id if scope else "oscilloscope"
    return from_terms(
        understood.value,
        [
            (within_limits(f"{scope_id} gain"), rectangular(gain) * understood.value),
            *((line, off * per_division) for line, off in heights(finest, key)),
        ],
    )


def _share(understood: Understood, bench: Bench, key: str) -> Uncertain:
    """A percentage that the eye took from a trace: its part and the whole share a line.

    The peak of an overshoot stands on the top that the height is read to. A tilt shares the line
    where it starts the other way about, so that this counts it somewhat in full.
    """
    scope = bench.graticule()
    finest = (scope.resolution if scope else None) or EYE
    height = understood.per_division or _GRATICULE_HEIGHT
    (peak, off), (top, down) = heights(finest, key)
    base = within_limits(f"{key} eye, line below")
    ratio = abs(understood.value) / 100.0
    lines = ((peak, off), (top, (1.0 + ratio) * down), (base, ratio * off))
    return from_terms(understood.value, [(line, 100.0 * each / height) for line, each in lines])


def _level(understood: Understood, meter: Meter | None, bench: Bench, key: str) -> Uncertain:
    """A level against the pass's reference: from volts, from a dB scale, or as stated."""
    if understood.volts is not None:
        return _level_from_volts(understood, understood.volts, meter, bench, key)
    if meter is not None and meter.type is MeterType.ANALOGUE:
        return _decibel_scale(understood.value, meter, key)
    step = understood.step or _FLAT_STEP
    return from_terms(understood.value, [(within_limits(f"{key} digits"), resolution(step))])


def measure_volts(
    understood: Understood, meter: Meter | None, bench: Bench, key: str
) -> Uncertain | None:
    """The volts behind a level that was typed in volts [V RMS]; None for one read in decibels.

    Args:
        understood: The entry as read.
        meter: The instrument that the prompt names, or None.
        bench: The bench.
        key: Key of the prompt.
    """
    volts = understood.volts
    return None if volts is None else _quantity(_as_volts(understood, volts), meter, bench, key)


def _as_volts(understood: Understood, volts: float) -> Understood:
    relative_step = understood.step / _DECIBELS_PER_NEPER
    return replace(understood, value=volts, unit="V", step=relative_step * volts)


def _reference_key(key: str) -> str:
    """Key of the reading that is 0 dB: the one called reference in the same pass."""
    return key.rsplit("/", 1)[0] + "/reference"


def _level_from_volts(
    understood: Understood, volts: float, meter: Meter | None, bench: Bench, key: str
) -> Uncertain:
    """Both readings as volts, so that what they share of a range's error cancels.

    Of the reference no more is known here than its volts, so it is taken to have been read on
    the lowest range that holds them; whoever has its reading asks for `measure_volts`.
    """
    reference_volts = volts / 10.0 ** (understood.value / 20.0)
    here = _as_volts(understood, volts)
    there = replace(
        here, value=reference_volts, range_full_scale=None, multiplier=1.0, divisions=None
    )
    read = _quantity(here, meter, bench, key)
    reference = _quantity(there, meter, bench, _reference_key(key))
    return propagate(lambda v, r: 20.0 * math.log10(v / r), read, reference)


def _decibel_scale(level_db: float, meter: Meter, key: str) -> Uncertain:
    """A level read on the decibel scale, relative to a pointer set to 0 dB.

    The range's class error is one amount in volts for both readings, so what is left of it in
    the ratio grows with the difference between the deflections. Below the scale's useful part
    people go down a range, which brings the pointer back up; both ranges' amounts then count.
    """
    terms = [
        (within_limits(f"{key} pointer"), resolution(meter.decibel_step)),
        (within_limits(f"{_reference_key(key)} pointer"), -resolution(meter.decibel_step)),
    ]
    deflection = _ZERO_DB_DEFLECTION * 10.0 ** (level_db / 20.0)
    same_range = 1.0 / deflection - 1.0 / _ZERO_DB_DEFLECTION
    # Two ranges lie 10 dB apart; a changed range stays near the reference's deflection.
    changed_range = math.sqrt(2.0) / _ZERO_DB_DEFLECTION
    factor = same_range if abs(same_range) < changed_range else changed_range
    limit = _DECIBELS_PER_NEPER * meter.accuracy.of_scale * factor
    source = within_limits(f"{meter.id} decibel scale")
    return from_terms(level_db, [*terms, (source, math.copysign(rectangular(abs(limit)), limit))])
