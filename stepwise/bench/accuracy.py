"""How far an instrument may be off: its accuracy as stated, and what that makes of a reading.

Stated limits of error are taken as rectangular (JCGM 100:2008, 4.3.7). The limit of a range is
one unknown amount that all readings on that range share, so that a ratio of two readings at the
same deflection does not count it, and one of unequal readings only as far as they differ.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from stepwise.errors import NotationError
from stepwise.quantities import parse_quantity

_OF_SCALE = re.compile(r"([0-9.,]+)\s*%\s+of\s+full\s+scale\Z", re.IGNORECASE)
_OF_READING = re.compile(r"([0-9.,]+)\s*%(?:\s+of\s+reading)?\Z", re.IGNORECASE)
_DIGITS = re.compile(r"([0-9]+)\s*(?:digits?|d)\Z", re.IGNORECASE)
_DIVISION = re.compile(r"1\s*/\s*([0-9]+)\s+division(?:\s+of\s+([0-9]+))?\Z", re.IGNORECASE)

_EXAMPLES = "3 % of full scale, 0.5 % + 2 digits, 3 %, or 1.5 C"


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Limits of error as the maker states them; the parts add."""

    of_scale: float = 0.0
    """Share of the full scale of the range in use [1]."""
    of_reading: float = 0.0
    """Share of the reading [1]."""
    digits: float = 0.0
    """Counts of the last digit [1]."""
    amount: float = 0.0
    """A fixed amount, in the SI unit of the instrument (degrees for a thermometer)."""


@dataclass(frozen=True, slots=True)
class ScaleResolution:
    """How finely a scale can be read."""

    share_of_division: float
    """Part of a division that the eye still tells [1]."""
    divisions: float | None
    """Divisions over the full scale; None for a graticule, which counts in divisions."""


def parse_accuracy(text: str) -> Accuracy:
    """Read a statement of accuracy: parts joined by "+".

    Raises:
        NotationError: A part is none of the known forms.
    """
    of_scale = of_reading = digits = amount = 0.0
    for part in (piece.strip() for piece in text.split("+")):
        if match := _OF_SCALE.match(part):
            of_scale += _number(match[1], text) / 100.0
        elif match := _OF_READING.match(part):
            of_reading += _number(match[1], text) / 100.0
        elif match := _DIGITS.match(part):
            digits += float(match[1])
        else:
            amount += _amount(part, text)
    return Accuracy(of_scale, of_reading, digits, amount)


def _number(text: str, whole: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise NotationError(whole, f"“{text}” is not a number", _EXAMPLES) from None


def _amount(part: str, whole: str) -> float:
    try:
        quantity = parse_quantity(part)
    except NotationError:
        raise NotationError(whole, "is not a statement of accuracy", _EXAMPLES) from None
    if quantity.unit in ("%", "dB", ""):
        raise NotationError(whole, f"“{part}” is no fixed amount", _EXAMPLES)
    return quantity.value


def parse_resolution(text: str) -> ScaleResolution:
    """Read how finely a scale is read: "1/4 division of 30", or "1/10 division".

    Raises:
        NotationError: The text has another form.
    """
    match = _DIVISION.match(text.strip())
    if not match or int(match[1]) == 0 or match[2] == "0":
        raise NotationError(text, "is not a share of a division", "1/4 division of 30")
    divisions = float(match[2]) if match[2] else None
    return ScaleResolution(1.0 / float(match[1]), divisions)
