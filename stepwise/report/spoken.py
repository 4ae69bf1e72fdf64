"""Figures as one would say them: two digits, and units in words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from stepwise.judge import Result
from stepwise.quantities import format_value

_UNITS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "W": ("watt", "watts"),
        "V": ("volt", "volts"),
        "A": ("ampere", "amperes"),
        "Hz": ("hertz", "hertz"),
        "Ω": ("ohm", "ohms"),
        "s": ("second", "seconds"),
        "F": ("farad", "farads"),
        "dB": ("decibel", "decibels"),
        "%": ("per cent", "per cent"),
        "°C": ("degree", "degrees"),
        "min": ("minute", "minutes"),
        "V/µs": ("volt a microsecond", "volts a microsecond"),
    }
)
_PREFIXES: Mapping[str, str] = MappingProxyType(
    {"p": "pico", "n": "nano", "µ": "micro", "m": "milli", "k": "kilo", "M": "mega"}
)
_FIGURE = re.compile(
    r"(?<![\w.])(-?)([0-9]+(?:\.[0-9]+)?) "
    r"([pnµmkM]?(?:W|V|A|Hz|Ω|s|F)|dB|%|°C|min|V/µs)(?![\w/])"
)
_DIGITS = 2
_ENDINGS: Mapping[int, str] = MappingProxyType({1: "st", 2: "nd", 3: "rd"})


def spoken(result: Result) -> str:
    """A result to two digits, its unit in words: "45 watts"."""
    return spoken_value(result.value, result.unit)


def spoken_value(value: float, unit: str) -> str:
    """A value to two digits, its unit in words: "4 ohms", "68 kilohertz".

    Args:
        value: Number of `unit`.
        unit: Plain spelling.
    """
    number, _, symbol = format_value(value, unit, digits=_DIGITS).partition(" ")
    whole, point, rest = number.partition(".")
    # Nobody says "four point zero".
    number = whole if not rest.strip("0") else f"{whole}{point}{rest.rstrip('0')}"
    word = unit_word(symbol, is_one=number.lstrip("-") == "1")
    said = f"minus {number[1:]}" if number.startswith("-") else number
    return f"{said} {word}".rstrip()


def unit_word(symbol: str, *, is_one: bool) -> str:
    """A unit's symbol in words: "kHz" is "kilohertz"; one that is not known stays as it is."""
    prefix, base = "", symbol
    if symbol not in _UNITS and symbol[:1] in _PREFIXES and symbol[1:] in _UNITS:
        prefix, base = _PREFIXES[symbol[0]], symbol[1:]
    words = _UNITS.get(base)
    if words is None:
        return symbol
    return prefix + words[0 if is_one else 1]


def spoken_text(text: str) -> str:
    """A sentence with its figures as one would say them: "already at 28 hertz"."""
    return _FIGURE.sub(_said, text)


def _said(found: re.Match[str]) -> str:
    sign, written, symbol = found.groups()
    number = f"{float(f'{float(written):.{_DIGITS}g}'):g}"
    return f"{'minus ' if sign else ''}{number} {unit_word(symbol, is_one=number == '1')}"


def spoken_day(day: str) -> str:
    """A day as it is said: "the 14th of March 2026"; empty for no day.

    Args:
        day: ISO 8601.
    """
    if not day:
        return ""
    found = date.fromisoformat(day)
    teens = 10 <= found.day % 100 <= 20
    ending = "th" if teens else _ENDINGS.get(found.day % 10, "th")
    return f"the {found.day}{ending} of {_MONTHS[found.month - 1]} {found.year}"


_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
"""In English whatever the locale: output never follows it."""
