"""Temperatures, and the words for what a finger says of them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from stepwise.errors import NotationError
from stepwise.quantities.expected import Expected, Understood
from stepwise.quantities.format import format_value
from stepwise.quantities.numeral import NUMBER, read_numeral
from stepwise.quantities.reading import read_reading

TOUCH: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "cold": (10.0, 25.0),
        "cool": (15.0, 30.0),
        "warm": (30.0, 45.0),
        "hot": (45.0, 60.0),
        "too hot": (60.0, 90.0),
        "too hot to hold": (60.0, 90.0),
    }
)
"""Word -> lowest and highest temperature it may mean [degrees Celsius].

Common practice, no source: metal above about 60 degrees cannot be held.
"""

_FAHRENHEIT = re.compile(
    rf"(?P<number>{NUMBER}) ?(?:°|º|deg(?:rees)?)? ?(?:f|fahrenheit)\Z", re.IGNORECASE
)


def read_heat(typed: str, text: str, expected: Expected) -> Understood:
    """Read a temperature, or what the finger says of it.

    Args:
        typed: The entry exactly as typed.
        text: The same, normalised.
        expected: What the prompt expects.

    Raises:
        NotationError: It is neither a temperature nor one of the words.
    """
    as_celsius = replace(expected, unit="C")
    limits = TOUCH.get(text.lower())
    if limits is None:
        return _read_degrees(typed, text, as_celsius)
    low, high = limits
    middle = (low + high) / 2.0
    shown = format_value(middle, "C", step=1.0)
    return Understood(
        typed=typed,
        value=middle,
        unit="C",
        form=expected.form,
        typed_form=expected.form,
        echo=f"read as about {shown}: {text.lower()} is {low:g} to {high:g} °C",
        step=high - low,
        interval=limits,
    )


def _read_degrees(typed: str, text: str, expected: Expected) -> Understood:
    if text[:1].isalpha():
        words = ", ".join(word for word in TOUCH if word != "too hot")
        raise NotationError(text, f"the words for what the finger says are {words}", "warm")
    fahrenheit = _FAHRENHEIT.match(text)
    if fahrenheit is not None:
        celsius = (read_numeral(fahrenheit["number"]).value - 32.0) / 1.8
        raise NotationError(
            text, f"“{text[:24]}” is in degrees Fahrenheit where °C is expected",
            format_value(celsius, "C", step=1.0).replace("°", ""),
        )  # fmt: skip
    return read_reading(typed, text, expected)
