"""One reading: an amount, a pointer on a range, or divisions on a graticule."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

from stepwise.errors import NotationError
from stepwise.quantities.amount import Amount, read_amount
from stepwise.quantities.expected import Expected, Form, Understood
from stepwise.quantities.format import format_value
from stepwise.quantities.numeral import (
    LARGEST,
    NUMBER,
    Numeral,
    read_numeral,
    take_numeral,
)
from stepwise.quantities.pointer import pointer_on_range
from stepwise.quantities.units import ScaledUnit, describe_unit, known_unit
from stepwise.quantities.wave import ALTERNATING, NoSineError, form_factor

_MULTIPLIED = re.compile(r"(?P<body>[^x]*?) ?(?:[xX]|times) ?(?P<by>[^xX ]*)\Z")
_DIVISIONS = re.compile(rf"(?P<count>{NUMBER}) ?div(?:s|ision|isions)?\b ?(?P<rest>.*)\Z", re.I)
_PER_DIVISION = re.compile(r"at ?(?P<per>.+?)(?: ?(?:/|per|a) ?div(?:ision)?)?\Z", re.I)
_ON_RANGE = re.compile(
    r"(?P<pointer>.+?) ?(?:(?<![a-z])on(?![a-z])|/) ?(?:the )?(?P<range>.*?)"
    r"(?: ?(?:range|scale))?\Z",
    re.I,
)
_MINUTES = re.compile(r"(?P<minutes>[0-9]{1,2}(?:[.,][0-9]+)?) ?m\Z")
_MINUTES_AND_SECONDS = re.compile(
    r"""(?P<minutes>[0-9]{1,2}) ?(?:m|min|:|') ?(?P<seconds>[0-9]{1,2}) ?(?:s|sec|")?\Z"""
)
_HAS_RANGES = frozenset({"voltage", "current"})
_ON_GRATICULE = frozenset({"voltage", "time"})
_LARGEST_MULTIPLIER = 1e4


@dataclass(frozen=True, slots=True)
class _Raw:
    """What was read before multiplier and form: in SI, with the words that explain it."""

    numeral: Numeral
    form: Form | None
    how: str = ""
    full_scale: float | None = None
    divisions: float | None = None
    per_division: float | None = None


def read_reading(typed: str, text: str, expected: Expected) -> Understood:
    """Read one reading.

    Args:
        typed: The entry exactly as typed, for the record.
        text: The same, normalised: single blanks, "x" for every sign of multiplication.
        expected: What the prompt expects.

    Raises:
        NotationError: It cannot be read. `text` is the piece that is wrong, `nearest` what
            might stand there instead.
    """
    default = known_unit(expected.unit)
    body, multiplier = _split_multiplier(text, default)
    raw = _read_raw(body, expected, default)
    typed_form, conversion = _conversion(raw, expected)
    factor = multiplier.value * conversion
    # Adding zero turns a typed "-0" into 0.
    value = raw.numeral.value * factor + 0.0
    _refuse_impossible(value, text, default, expected)
    understood = Understood(
        typed=typed,
        value=value,
        unit=default.unit.si,
        form=expected.form,
        typed_form=typed_form,
        echo="",
        step=raw.numeral.step * factor,
        range_full_scale=raw.full_scale,
        multiplier=multiplier.value,
        conversion=conversion,
        divisions=raw.divisions,
        per_division=raw.per_division,
    )
    return replace(understood, echo=_echo(understood, raw, multiplier))


def figure(understood: Understood, step: float) -> str:
    """The value with unit and form: "20.0 V RMS".

    Args:
        understood: The reading.
        step: What the last digit is worth, in its unit.
    """
    number = format_value(understood.value, understood.unit, step=step)
    return f"{number} {understood.form}".rstrip()


def _split_multiplier(text: str, default: ScaledUnit) -> tuple[str, Numeral]:
    match = _MULTIPLIED.match(text)
    if match is None:
        return text, Numeral(1.0, 0.0, "1")
    by = match["by"]
    if not by:
        raise NotationError(text, "the number after “x” is missing", f"{text.rstrip()}10")
    if re.fullmatch(NUMBER, by) is None:
        raise NotationError(by, f"“{by[:24]}” after “x” is not a number", "10")
    multiplier, _ = take_numeral(by)
    if not default.unit.prefixes:
        raise NotationError(text, f"{describe_unit(default)} is not multiplied", match["body"])
    divisions = _DIVISIONS.match(match["body"])
    if divisions and not divisions["rest"]:
        meant = f"{match['body']} at {by}"
        raise NotationError(text, "what one division is worth is written after “at”", meant)
    if not 1.0 / _LARGEST_MULTIPLIER <= multiplier.value <= _LARGEST_MULTIPLIER:
        raise NotationError(by, f"no probe or attenuator is x{by}", "10")
    return match["body"], multiplier


def _read_raw(body: str, expected: Expected, default: ScaledUnit) -> _Raw:
    dimension = default.unit.dimension
    divisions = _DIVISIONS.match(body)
    if divisions and dimension != "divisions":
        return _read_divisions(divisions, expected, default)
    on_range = _ON_RANGE.match(body) if dimension in _HAS_RANGES else None
    if on_range:
        found = pointer_on_range(on_range["pointer"], on_range["range"], expected)
        return _Raw(found.numeral, found.form, found.how, full_scale=found.full_scale)
    _refuse_minutes(body, default)
    amount = amount_of(body, default)
    _refuse_bare_power(body, amount, default)
    how = f"{amount.numeral.text} {default.symbol} {amount.form}"
    if amount.unit is not None:
        how = f"{amount.numeral.text} {amount.unit.symbol} {amount.form}"
    elif amount.prefix:
        how = f"{format_value(amount.in_si(default).value, default.unit.si)} {amount.form}"
    return _Raw(amount.in_si(default), amount.form, how if amount.form else "")


def _refuse_minutes(text: str, default: ScaledUnit) -> None:
    """Seconds are asked: “2m” is two minutes to one reader and two thousandths to the next."""
    if default.unit.dimension != "time" or default.factor < 1.0:
        return
    if both := _MINUTES_AND_SECONDS.match(text):
        meant = f"{60 * int(both['minutes']) + int(both['seconds'])} s"
        raise NotationError(text, "a time is one number with one unit", meant)
    match = _MINUTES.match(text)
    if match is not None and default.factor == 1.0:
        number = match["minutes"]
        reason = f"“{text}” may be minutes or milliseconds, so write {number} min or {number} ms"
        raise NotationError(text, reason, f"{number} min")


def _refuse_bare_power(text: str, amount: Amount, default: ScaledUnit) -> None:
    """A power of ten does what a prefix does: "5e-6" where microseconds are asked is 5 µs."""
    is_bare = amount.unit is None and amount.prefix is None
    if is_bare and default.factor != 1.0 and "e" in amount.numeral.text.lower():
        base = known_unit(default.unit.si)
        reason = f"“{text[:24]}” may be in {base.symbol} or in {default.symbol}, so write the unit"
        raise NotationError(text, reason, f"{amount.numeral.text} {base.unit.spelling}")


def amount_of(text: str, default: ScaledUnit) -> Amount:
    """Read an amount that must be of one kind.

    Args:
        text: One amount.
        default: A unit of that kind.

    Raises:
        NotationError: It cannot be read, or is of another kind.
    """
    amount = read_amount(text)
    unit = amount.unit
    if unit is None or unit.unit.dimension == default.unit.dimension:
        return amount
    if unit.unit.spelling == "K" and "k" in default.unit.prefixes:
        return Amount(amount.numeral, "k", None, amount.form)
    wanted = describe_unit(default)
    # No remedy: 20 ohm where volts are asked is not 20 V.
    reason = f"“{text[:24]}” is in {describe_unit(unit)} where {wanted} is expected"
    raise NotationError(text, reason)


def _read_divisions(match: re.Match[str], expected: Expected, default: ScaledUnit) -> _Raw:
    if default.unit.dimension not in _ON_GRATICULE:
        wanted = describe_unit(default)
        raise NotationError(match[0], f"divisions are typed where {wanted} is expected")
    alternating = expected.form in ALTERNATING
    if alternating and not expected.is_sine:
        raise NoSineError(match[0], Form.PEAK_TO_PEAK, expected.form)
    per = _PER_DIVISION.match(match["rest"])
    if per is None:
        raise NotationError(
            match[0],
            "what one division is worth is missing",
            _divisions_example(match["count"], default),
        )
    amount = amount_of(per["per"], default)
    per_division = amount.in_si(default).value
    if amount.form is not None or per_division <= 0.0:
        raise NotationError(
            per["per"], f"one division is worth a positive {default.unit.dimension}", "5"
        )
    count = read_numeral(take_numeral(match["count"])[0].text)
    worth = format_value(per_division, default.unit.si)
    return _Raw(
        count.times(per_division),
        Form.PEAK_TO_PEAK if alternating else None,
        f"{count.text} divisions at {worth}",
        divisions=count.value,
        per_division=per_division,
    )


def _divisions_example(count: str, default: ScaledUnit) -> str:
    return f"{count} div at 5 {'V' if default.unit.dimension == 'voltage' else 'ms'}"


def _conversion(raw: _Raw, expected: Expected) -> tuple[Form, float]:
    return form_factor(raw.form, expected.form, is_sine=expected.is_sine)


def _refuse_impossible(value: float, text: str, default: ScaledUnit, expected: Expected) -> None:
    if not math.isfinite(value) or abs(value) > LARGEST:
        raise NotationError(text, "that is beyond anything on a bench")
    if value >= 0.0:
        return
    if expected.form in ALTERNATING:
        article = "an" if expected.form is Form.RMS else "a"
        reason = f"{article} {expected.form} value is never negative"
        raise NotationError(text, reason, text.lstrip("-"))
    if not default.unit.signed:
        reason = f"a {default.unit.dimension} is never negative"
        raise NotationError(text, reason, text.lstrip("-"))


def _echo(understood: Understood, raw: _Raw, multiplier: Numeral) -> str:
    # Digits typed are kept: 2.0 x10 is shown as 20.0, though its last digit is worth 1.
    step = raw.numeral.step * min(1.0, multiplier.value)
    is_converted = understood.conversion != 1.0
    if is_converted:
        # A converted value is rounded one place later, or 48 Vpp would be shown as 17.0 V.
        step = 10.0 ** (math.floor(math.log10(step * understood.conversion)) - 1)
    shown = figure(understood, step)
    reasons = ", ".join(_reasons(understood, raw, multiplier))
    return f"read as {shown}: {reasons}" if reasons else f"read as {shown}"


def _reasons(understood: Understood, raw: _Raw, multiplier: Numeral) -> list[str]:
    """Where the figure comes from, in parts; none where it is simply what was typed."""
    is_read = raw.full_scale is not None or raw.divisions is not None
    is_converted = understood.conversion != 1.0
    reasons = [raw.how] if is_read else []
    if is_converted and not is_read:
        reasons = [f"{raw.how} of a sine"]
    if multiplier.value != 1.0:
        plain = format_value(raw.numeral.value, understood.unit, step=raw.numeral.step)
        reasons = [*(reasons or [plain]), f"times {multiplier.text}"]
    if is_converted and is_read:
        reasons.append(f"{understood.typed_form} of a sine")
    elif raw.divisions is not None and raw.form is not None:
        reasons.append(str(raw.form))
    return reasons
