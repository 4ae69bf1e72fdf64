"""The letter code of component values: the letter stands where the decimal mark would.

Source: IEC 60062 (from memory): 4R7 = 4.7 ohm, 1k5 = 1500 ohm, 4n7 = 4.7 nF, R47 = 0.47 ohm.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from stepwise.errors import NotationError
from stepwise.quantities.numeral import Numeral, read_numeral
from stepwise.quantities.units import find_prefix

_CODE = re.compile(r"([+-]?)([0-9]{0,12})([RrpnumkKMµμ])([0-9]{1,12})(?![0-9.,])")


@dataclass(frozen=True, slots=True)
class LetterCode:
    """A value in letter code."""

    numeral: Numeral
    """The digits with a decimal point in the letter's place, before the prefix counts."""
    prefix: str
    """SI prefix in plain spelling; empty for "R"."""
    is_resistance: bool
    """Whether the letter was "R", which says ohm."""


def take_letter_code(text: str) -> tuple[LetterCode, str] | None:
    """Read a letter code at the start of a text, digits after the letter included.

    "1k" and "25m" are numbers with a prefix and are not meant here.

    Args:
        text: Begins with the code, without blanks before it.

    Returns:
        The value and the rest of the text, or None where there is no such code.

    Raises:
        NotationError: The digits are no number of a bench.
    """
    match = _CODE.match(text)
    if match is None:
        return None
    sign, whole, letter, fraction = match.groups()
    numeral = read_numeral(f"{sign}{whole or '0'}.{fraction}")
    rest = text[match.end() :]
    if letter in "Rr":
        return LetterCode(numeral, "", True), rest
    prefix = find_prefix(letter)
    if prefix is None:
        raise NotationError(match[0], f"“{letter}” is not a prefix")
    return LetterCode(numeral, prefix, False), rest
