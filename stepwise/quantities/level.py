"""Levels: decibels as read, or volts turned into decibels against the reading that is 0 dB."""

from __future__ import annotations

import math
import re
from dataclasses import replace

from stepwise.errors import NotationError
from stepwise.quantities.expected import Answer, Expected, Form, Understood
from stepwise.quantities.format import format_value
from stepwise.quantities.numeral import NUMBER, read_numeral
from stepwise.quantities.reading import read_reading
from stepwise.quantities.units import find_unit

DECIBELS_PER_NEPER = 20.0 / math.log(10.0)
"""dB for a relative change of a voltage [dB]: d(20 lg U) = 8.686 dU / U."""

_LEVEL = re.compile(rf"(?P<number>{NUMBER}) ?(?P<unit>db|decibels?)?\Z", re.IGNORECASE)
_DOWN = re.compile(rf"-?(?P<number>{NUMBER}) ?(?:db)? ?(?:down|below)\Z", re.IGNORECASE)
_ABSOLUTE = re.compile(r"db ?(?:u|v|m|w|r|fs|spl)\b", re.IGNORECASE)
_FARTHEST = 300.0
"""No two voltages of a bench lie farther apart [dB]: 1 pV to 1 kV."""


def read_level(typed: str, text: str, expected: Expected) -> Understood:
    """Read a level.

    Args:
        typed: The entry exactly as typed.
        text: The same, normalised.
        expected: What the prompt expects, with the reading that is 0 dB where there is one.

    Raises:
        NotationError: It cannot be read, or volts are typed before there is a reference.
    """
    if text.lower() == "flat":
        return _level(typed, 0.0, 0.0, "read as 0 dB: flat", expected)
    if _ABSOLUTE.search(text):
        raise NotationError(text, "levels here are plain dB, against the reading that is 0 dB")
    down = _DOWN.match(text)
    if down is not None:
        meant = f"-{down['number'].lstrip('+-')} dB"
        raise NotationError(text, "a level below the reference is written with a minus", meant)
    match = _LEVEL.match(text)
    if match is None:
        return _from_volts(typed, text, expected)
    numeral = read_numeral(match["number"])
    if abs(numeral.value) > _FARTHEST:
        raise NotationError(match["number"], f"{numeral.text} dB is beyond any two voltages")
    shown = format_value(numeral.value, "dB", step=numeral.step)
    return _level(typed, numeral.value, numeral.step, f"read as {shown}", expected)


def _level(typed: str, value: float, step: float, echo: str, expected: Expected) -> Understood:
    return Understood(
        typed=typed,
        value=value + 0.0,  # a typed "-0" is 0
        unit="dB",
        form=expected.form,
        typed_form=expected.form,
        echo=echo,
        step=step,
    )


def _from_volts(typed: str, text: str, expected: Expected) -> Understood:
    volts = _read_volts(typed, text, expected)
    reference = expected.reference_volts
    if reference is None or not reference > 0.0:
        raise NotationError(
            text,
            "volts need the reading that is 0 dB, and it has not been taken yet",
            "-4.5 dB",
        )
    if volts.value <= 0.0:
        raise NotationError(text, "0 V has no level in decibels", "-40 dB")
    ratio = volts.value / reference
    value = 20.0 * math.log10(ratio) if ratio > 0.0 else -math.inf
    if abs(value) > _FARTHEST:
        reason = f"{format_value(reference, 'V')} at 0 dB is farther from it than any two voltages"
        raise NotationError(text, f"“{text[:24]}” is no level: {reason}", "-4.5 dB")
    step = DECIBELS_PER_NEPER * volts.step / volts.value
    against = f"against {format_value(reference, 'V')} at 0 dB"
    # One place more than the last digit typed is worth, as for every converted reading.
    shown = format_value(value, "dB", step=min(step, 1.0) / 2.0)
    echo = f"read as {shown}: {_volts_words(volts)} {against}"
    return replace(
        volts,
        value=value,
        unit="dB",
        form=expected.form,
        step=step,
        echo=echo,
        volts=volts.value,
    )


def _read_volts(typed: str, text: str, expected: Expected) -> Understood:
    as_volts = Expected(
        Answer.QUANTITY, "V", Form.RMS, meter=expected.meter, ranges=expected.ranges
    )
    try:
        return read_reading(typed, text, as_volts)
    except NotationError as error:
        unit = find_unit(text.lstrip("+-0123456789.,eE "))
        if unit is not None and unit.unit.dimension not in ("voltage", "level"):
            reason = f"“{text[:24]}” is a {unit.unit.dimension} where dB or volts are expected"
            raise NotationError(text, reason, "-4.5 dB") from None
        raise NotationError(error.text, error.reason, error.nearest) from None


def _volts_words(volts: Understood) -> str:
    figure, _, how = volts.echo.removeprefix("read as ").partition(": ")
    return f"{figure} ({how})" if how else figure
