"""The one way to print a figure, for every front end.

Output never follows the locale: a decimal point, no grouping, a blank before the unit. What is
printed can be typed again and is read as the same quantity, as far as its digits go.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

from stepwise.quantities.uncertain import Uncertain
from stepwise.quantities.units import PREFIXES, ScaledUnit, Unit, known_unit

NOT_A_FIGURE = "—"
"""What stands where there is no finite value."""

_SIGNIFICANT = 4
"""Digits of a figure whose accuracy nobody states; trailing zeros are dropped."""
_MOST_DECIMALS = 9
_MINUTES_FROM = 600.0
"""Seconds from which a time is easier to read in minutes."""
_TOO_LARGE = 1e9
_MICROFARADS_FROM = 1e-7
_SLACK = 1.000001
"""A thousandth times a thousand may miss 1 by a rounding; the choice of prefix must not."""

_SHOWN: Mapping[str, str] = MappingProxyType(
    # Millifarads are hardly written on a capacitor, and half a hertz reads better than 500 mHz.
    {"Hz": "kM", "V/s": "", "VA": "k", "F": "pnu"}
)
"""Prefixes that are printed, where they are fewer than those that are understood."""


def format_value(
    value: float, unit: str, *, digits: int | None = None, step: float | None = None
) -> str:
    """Print a value with its unit: "26.4 Hz", "80 kHz", "0.33 µF", "8.06 Ω", "-3.01 dB".

    Args:
        value: Number of `unit`.
        unit: Plain spelling; "" for a plain number.
        digits: Significant digits [1], trailing zeros kept. Without it and without `step`,
            up to four with trailing zeros dropped.
        step: What the last printed digit is worth, number of `unit`; its decade counts.

    Returns:
        The figure, or "—" for a value that is not finite.

    Raises:
        NotationError: The unit is not known.
    """
    scaled = known_unit(unit)
    if not math.isfinite(value):
        return NOT_A_FIGURE
    si_value = value * scaled.factor
    si_step = step * scaled.factor if step and math.isfinite(step) else None
    # 999.9 V to three digits is 1.00 kV: the prefix follows the rounded value.
    rounded = float(f"{si_value:.{(digits or _SIGNIFICANT) - 1}e}")
    shown = _shown_unit(rounded, scaled.unit, si_step)
    number = _number(si_value / shown.factor, digits, si_step and si_step / shown.factor)
    return _with_unit(number, shown)


def format_uncertain(uncertain: Uncertain, unit: str) -> str:
    """Print a value with its expanded uncertainty (about 95 %): "50.0 ± 1.2 W".

    The uncertainty has two significant figures and the value ends at the same place. A value
    without uncertainty is printed alone; so is one of which no more than the last digit is
    known, as far as that goes: "53.7 mA".

    Args:
        uncertain: The value with its uncertainty, in `unit`.
        unit: Plain spelling; "" for a plain number.

    Raises:
        NotationError: The unit is not known.

    Source:
        JCGM 100:2008, 7.2.2 and 7.2.6 (from memory).
    """
    if uncertain.is_least:
        return _to_its_digit(uncertain, unit)
    expanded = uncertain.expanded_uncertainty
    if not _counts(expanded, uncertain.value):
        return format_value(uncertain.value, unit)
    if not math.isfinite(expanded):
        return f"{format_value(uncertain.value, unit)} ± {NOT_A_FIGURE}"
    value, doubt, shown = _with_doubt(uncertain.value, expanded, unit)
    return _with_unit(f"{value} ± {doubt}", shown)


def format_estimate(uncertain: Uncertain, unit: str) -> str:
    """Print the value alone, to the place at which `format_uncertain` ends it: "50.0 W".

    Args:
        uncertain: The value with its uncertainty, in `unit`.
        unit: Plain spelling; "" for a plain number.

    Raises:
        NotationError: The unit is not known.
    """
    if uncertain.is_least:
        return _to_its_digit(uncertain, unit)
    expanded = uncertain.expanded_uncertainty
    if not _counts(expanded, uncertain.value) or not math.isfinite(expanded):
        return format_value(uncertain.value, unit)
    value, _, shown = _with_doubt(uncertain.value, expanded, unit)
    return _with_unit(value, shown)


def _to_its_digit(uncertain: Uncertain, unit: str) -> str:
    """The value to the place of a last digit that would have this standard uncertainty."""
    return format_value(
        uncertain.value, unit, step=math.sqrt(12.0) * uncertain.standard_uncertainty
    )


def _counts(expanded: float, value: float) -> bool:
    """Below 1e-9 of the value it is the rounding of the arithmetic, not of a meter."""
    return math.isfinite(value) and not expanded <= 1e-9 * abs(value)


def _with_doubt(value: float, expanded: float, unit: str) -> tuple[str, str, ScaledUnit]:
    """Value and uncertainty, both ending at the second figure of the latter, and their unit."""
    scaled = known_unit(unit)
    largest = max(abs(value), expanded) * scaled.factor
    shown = _shown_unit(largest, scaled.unit, 10.0 ** _place(expanded * scaled.factor, 2))
    to_shown = scaled.factor / shown.factor
    place = _place(expanded * to_shown, 2)
    return _at_place(value * to_shown, place), _at_place(expanded * to_shown, place), shown


def format_number(value: float, digits: int | None = None) -> str:
    """Print a plain number: "42", "0.125", "1.2e-05".

    Args:
        value: The number [1].
        digits: Significant digits [1], trailing zeros kept; up to four without it.

    Returns:
        The number, or "—" where it is not finite.
    """
    return _number(value, digits, None) if math.isfinite(value) else NOT_A_FIGURE


def _with_unit(number: str, shown: ScaledUnit) -> str:
    return f"{number} {shown.symbol}".rstrip()


def _shown_unit(si_value: float, unit: Unit, si_step: float | None) -> ScaledUnit:
    """The unit in which a value reads best, its last digit not left of the units place."""
    reference = abs(si_value) or si_step or 1.0
    if unit.si == "s" and reference >= _MINUTES_FROM:
        return known_unit("min")
    if unit.si == "V/s":
        return known_unit("V/us")
    base = known_unit(unit.si).unit
    prefixes = sorted({"", *_SHOWN.get(unit.si, base.prefixes)}, key=PREFIXES.__getitem__)
    fitting = [each for each in prefixes if _smallest(each, unit.si) <= reference * _SLACK]
    chosen = fitting[-1] if fitting else prefixes[0]
    while _ends_left(chosen, unit.si, si_step):
        chosen = prefixes[prefixes.index(chosen) + 1]
    return ScaledUnit(base, chosen)


def _ends_left(prefix: str, unit: str, si_step: float | None) -> bool:
    """Whether the last digit is worth more than one of a small unit, save microfarads."""
    if not si_step or PREFIXES[prefix] >= 1.0 or (prefix, unit) == ("u", "F"):
        return False
    return si_step > PREFIXES[prefix] * _SLACK


def _smallest(prefix: str, unit: str) -> float:
    """Least value that is printed with a prefix: 0.33 µF is written so, not as 330 nF."""
    return _MICROFARADS_FROM if (prefix, unit) == ("u", "F") else PREFIXES[prefix]


def _number(value: float, digits: int | None, step: float | None) -> str:
    if step:
        return _at_place(value, math.floor(math.log10(abs(step)) + 1e-9))
    if digits:
        return _at_place(value, _place(value, digits))
    place = min(_place(value, _SIGNIFICANT), 0)
    text = _at_place(value, place)
    if "." not in text:
        return text
    mantissa, mark, exponent = text.partition("e")
    return mantissa.rstrip("0").rstrip(".") + mark + exponent


def _place(value: float, digits: int) -> int:
    """Power of ten of the last of `digits` significant digits, after rounding to them."""
    return int(f"{value:.{digits - 1}e}".partition("e")[2]) - digits + 1


def _at_place(value: float, place: int) -> str:
    """Round to a power of ten and print without an exponent, where that stays readable."""
    if abs(value) >= _TOO_LARGE or place < -_MOST_DECIMALS:
        shown = max(0, _place(value, 1) - place)
        return f"{value:.{min(shown, 15)}e}"
    text = f"{round(value, -place):.{max(0, -place)}f}"
    return text.lstrip("-") if not float(text) else text
