"""A pointer on a range: "2.0 on 3" is 2.0 on the range whose full scale is 3 V."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stepwise.errors import NotationError
from stepwise.quantities.amount import Amount, read_amount
from stepwise.quantities.expected import Expected, Form
from stepwise.quantities.format import format_value
from stepwise.quantities.numeral import Numeral
from stepwise.quantities.units import ScaledUnit, describe_unit, known_unit

GRACE = 1.02
"""A pointer reads this far beyond its last mark, no farther (common practice, no source)."""
_SAME_RANGE = 0.005
_LOWEST_SHOWN = 0.01
"""Share of full scale below which no pointer can be told from zero."""
_LOW = 0.1
_MOST_NAMED = 4
"""Ranges that are named one by one; of more, the ends of the list."""
_LARGEST_FACE_SHIFT = 1000.0


@dataclass(frozen=True, slots=True)
class OnRange:
    """What a pointer shows, in SI, before any multiplier."""

    numeral: Numeral
    full_scale: float
    form: Form | None
    how: str
    """The words that explain it: "2.0 on the 3 V range"."""


def pointer_on_range(pointer: str, named_range: str, expected: Expected) -> OnRange:
    """Read a pointer's number and the range that it was read on.

    The number counts in the range's unit, so "200 on 300 mV" is 200 mV. On such a range the
    scale is marked 0 to 3, and "2.0 on 300 mV" would be under one hundredth of it, which no
    pointer shows: there the number is read on that scale, as 200 mV, and the words say so.

    Args:
        pointer: Text before "on".
        named_range: Text after it, without "the" and "range".
        expected: What the prompt expects; its ranges must hold the named one.

    Raises:
        NotationError: A part is missing or wrong, or the two do not go together.
    """
    default = known_unit(expected.unit)
    shown = read_amount(pointer)
    if not named_range:
        raise NotationError(
            pointer,
            "the range after “on” is missing",
            _suggest(shown, expected.ranges or (3.0,), default),
        )
    full_scale, range_unit = _full_scale(named_range, shown, expected, default)
    if shown.unit is not None or shown.prefix is not None:
        _refuse_other_kind(shown, default, pointer)
        numeral, shift = shown.in_si(default), 1.0
    else:
        numeral = shown.numeral.times(range_unit)
        shift = _face_shift(numeral.value, full_scale)
        numeral = numeral.times(shift)
    if abs(numeral.value) > full_scale * GRACE:
        raise NotationError(
            pointer,
            f"{shown.numeral.text} lies beyond the {_name(full_scale, default)} range",
            _suggest(shown, expected.ranges, default),
        )
    name = _name(full_scale, default)
    how = f"{_words(shown, numeral.value, default)} on the {name} range"
    if shift != 1.0:
        top = full_scale / (range_unit * shift)
        how = f"{shown.numeral.text} on the 0 to {top:g} scale of the {name} range"
    elif 0.0 < abs(numeral.value) < _LOW * full_scale:
        how = f"{how}, low on its scale"
    return OnRange(numeral, full_scale, shown.form, how)


def _full_scale(
    text: str, shown: Amount, expected: Expected, default: ScaledUnit
) -> tuple[float, float]:
    """Full scale in SI, and the SI value of one of its unit."""
    amount = read_amount(text)
    _refuse_other_kind(amount, default, text)
    if amount.form is not None:
        raise NotationError(text, "a range has no form such as RMS", amount.numeral.text)
    number = amount.numeral.value
    named = amount.in_si(default).value
    units = [named / number if number else default.factor]
    if amount.unit is None and amount.prefix is None and default.factor != 1.0:
        units.append(1.0)
    for unit in units:
        for known in expected.ranges or ((number * unit,) if number > 0.0 else ()):
            if abs(number * unit - known) <= _SAME_RANGE * known:
                return known, unit
    suggestion = _suggest(shown, expected.ranges, default).rpartition(" ")[2]
    raise NotationError(text, _no_such_range(text, expected, default), suggestion)


def _no_such_range(text: str, expected: Expected, default: ScaledUnit) -> str:
    if not expected.ranges:
        return "a range has a positive full scale"
    names = [_name(each, default) for each in sorted(expected.ranges)]
    listed = " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
    if len(names) > _MOST_NAMED:
        listed = f"{names[0]}, {names[1]} … {names[-1]}"
    return f"there is no range “{text[:24]}”; the ranges are {listed}"


def _refuse_other_kind(amount: Amount, default: ScaledUnit, text: str) -> None:
    if amount.unit is not None and amount.unit.unit.dimension != default.unit.dimension:
        raise NotationError(
            text,
            f"“{text[:24]}” is in {describe_unit(amount.unit)}"
            f" where {describe_unit(default)} is expected",
        )


def _face_shift(value: float, full_scale: float) -> float:
    """Decade by which the scale's marks differ from the range, where the number needs it."""
    share = abs(value) / full_scale
    # The far end is asked by multiplication: a share of next to nothing divides to infinity.
    if share >= _LOWEST_SHOWN or share * 10.0 * _LARGEST_FACE_SHIFT <= GRACE:
        return 1.0
    return float(10.0 ** math.floor(math.log10(GRACE / share)))


def _words(shown: Amount, value: float, default: ScaledUnit) -> str:
    """The pointer's number as typed, with its unit and form where they were typed."""
    number = shown.numeral.text
    if shown.unit is not None:
        number = f"{number} {shown.unit.symbol}"
    elif shown.prefix:
        number = format_value(value, default.unit.si)
    return f"{number} {shown.form}" if shown.form is not None else number


def _suggest(shown: Amount, full_scales: tuple[float, ...], default: ScaledUnit) -> str:
    """A pointer and range that go together, the typed number kept where one holds it."""
    for full_scale in sorted(full_scales):
        if abs(shown.numeral.value) * default.factor <= full_scale * GRACE:
            return f"{shown.numeral.text} on {full_scale / default.factor:g}"
    return ""


def _name(full_scale: float, default: ScaledUnit) -> str:
    return format_value(full_scale, default.unit.si)
