"""Quantities in files: "NUMBER UNIT", read strictly."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from stepwise.errors import DimensionError, NotationError
from stepwise.quantities.amount import read_amount
from stepwise.quantities.numeral import scale
from stepwise.quantities.units import PREFIXES, describe_unit, known_unit

_EXAMPLE = "1 kHz, 15 s, 8 ohm or 50 mV"
_LONGEST = 60


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity as a file states it."""

    value: float
    """In the SI unit of the dimension; dB in dB, % in %, temperatures in degrees Celsius."""
    unit: str
    """SI unit in plain spelling; empty for a plain number."""
    text: str
    """As written."""


@lru_cache(maxsize=1024)  # the frequencies of a procedure are asked for again at every answer
def parse_quantity(text: str) -> Quantity:
    """Read a quantity from a file: "1 kHz", "2 min", "100 nF", "90 %", "10 °C", "8R2".

    A number alone, or with a prefix alone ("1k"), is a plain number with unit "".

    Raises:
        NotationError: The text is not one number with one known unit.
    """
    plain = _plain(text[: _LONGEST + 1])
    if not plain:
        raise NotationError("", "is empty", _EXAMPLE)
    if not plain.isprintable():
        raise NotationError(ascii(plain), "has a character that cannot be shown", _EXAMPLE)
    if len(text) > _LONGEST:
        raise NotationError(f"{plain[: _LONGEST - 1]}…", "is too long for a quantity", _EXAMPLE)
    try:
        amount = read_amount(plain)
    except NotationError as error:
        mended = plain.replace(error.text, error.nearest, 1) if error.nearest else _EXAMPLE
        raise NotationError(plain, error.reason, mended) from None
    if amount.form is not None:
        raise NotationError(plain, "a quantity in a file has no form such as RMS", _EXAMPLE)
    if amount.unit is None:
        return Quantity(scale(amount.numeral.value, PREFIXES[amount.prefix or ""]), "", text)
    return Quantity(scale(amount.numeral.value, amount.unit.factor), amount.unit.unit.si, text)


def require(text: str, unit: str) -> float:
    """Read a quantity that must be of a given kind.

    Args:
        text: As written in a file.
        unit: Plain spelling of a unit of the kind that is asked for, "V" or "mV" alike. A
            number with a prefix but no unit ("1k", "4n7") is taken in its SI unit.

    Returns:
        The value in the SI unit of that kind [SI; dB, % and degrees Celsius as they are].

    Raises:
        NotationError: The text is not one number with one known unit.
        DimensionError: It is of another kind.
    """
    wanted = known_unit(unit)
    quantity = parse_quantity(text)
    got = known_unit(quantity.unit)
    if got.unit.dimension == wanted.unit.dimension:
        return quantity.value
    amount = read_amount(_plain(text))
    if amount.prefix is not None and wanted.unit.prefixes:
        return amount.in_si(known_unit(wanted.unit.si)).value
    raise DimensionError(f"“{text}” is {describe_unit(got)}", describe_unit(wanted))


def _plain(text: str) -> str:
    return " ".join(text.replace("\u2212", "-").split())
