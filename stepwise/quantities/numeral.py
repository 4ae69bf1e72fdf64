"""Numbers as people type them: one decimal mark, point or comma, and nothing that divides.

Digits are 0 to 9 only. A comma that may stand for thousands is refused, because "1,000" is one
thousand to one reader and one to the next, and a reading must not depend on who looks.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from stepwise.errors import NotationError

NUMBER = r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
"""Pattern of a number, for patterns that hold one."""
LARGEST = 1e12
"""Beyond this no quantity on a bench lies, in any of its units (common practice, no source)."""

_PARTS = re.compile(r"([+-]?)([0-9]*)(?:[.,]([0-9]*))?(?:[eE]([+-]?[0-9]{1,3}))?")
_START = re.compile(NUMBER)
_GROUPED = re.compile(r"[+-]?[0-9]{1,3}(?:[ .,'_][0-9]{3})+(?:[.,][0-9]*)?(?![0-9])")
_THOUSANDS_COMMA = re.compile(r"[+-]?0*[1-9][0-9]{0,2},[0-9]{3}\Z")
_MOST_DIGITS = 24


@dataclass(frozen=True, slots=True)
class Numeral:
    """A number with the weight of its last digit."""

    value: float
    step: float
    """One unit of the last digit typed: 0.1 for "20.5"."""
    text: str
    """As typed, with a decimal point: "20.5" for "20,5"."""

    def times(self, factor: float) -> Numeral:
        """The same digits in another unit, `factor` [1] of which make one of this."""
        return Numeral(scale(self.value, factor), scale(self.step, factor), self.text)


def scale(value: float, factor: float) -> float:
    """Multiply, and divide where the factor is 1/10, 1/1000, ... so that 100 n is 1e-07.

    Args:
        value: Any number.
        factor: Any number [1]; for one below 1 whose inverse is whole, the quotient is taken,
            which is rounded once and not twice.
    """
    if 0.0 < factor < 1.0:
        inverse = round(1.0 / factor)
        if 1.0 / inverse == factor:
            return value / inverse
    return value * factor


def take_numeral(text: str) -> tuple[Numeral, str]:
    """Read the number at the start of a text.

    Args:
        text: Begins with the number, without blanks before it.

    Returns:
        The number, and the rest of the text as it stands.

    Raises:
        NotationError: There is no number at the start, it could be read in two ways, or it is
            longer or larger than any reading.
    """
    match = _START.match(text)
    if match is None:
        raise NotationError(text, f"“{text[:24]}” does not begin with a number")
    typed, rest = match[0], text[match.end() :]
    _refuse_thousands(text, typed, rest)
    return read_numeral(typed), rest


def read_numeral(typed: str) -> Numeral:
    """Read a text that is one number by its pattern (`NUMBER`).

    Raises:
        NotationError: It has more digits than any meter, or lies beyond any quantity.
    """
    match = _PARTS.fullmatch(typed)
    if match is None:
        raise NotationError(typed, f"“{typed[:20]}” is not a number")
    decimals = len(match[3] or "")
    if len(match[2]) + decimals > _MOST_DIGITS:
        raise NotationError(typed, "that is more digits than any meter shows")
    plain = typed.replace(",", ".")
    value = float(plain)
    if abs(value) > LARGEST:
        raise NotationError(typed, f"{typed} is beyond anything on a bench")
    if value == 0.0 and match[4] and match[2].strip("0") + (match[3] or "").strip("0"):
        raise NotationError(typed, f"{typed} is too small for anything on a bench")
    step = float(f"1e{int(match[4] or 0) - decimals}")
    if step > LARGEST or (step == 0.0 and value == 0.0):
        raise NotationError(typed, f"the power of ten of {typed} is beyond anything on a bench")
    return Numeral(value, step or math.ulp(0.0), plain.lstrip("+"))


def _refuse_thousands(text: str, typed: str, rest: str) -> None:
    if rest[:1] in ("", " ") and not rest[1:2].isdigit() and "," not in typed:
        return
    grouped = _GROUPED.match(text)
    if _THOUSANDS_COMMA.match(typed) and not (rest[:1] and rest[0] in ".,'_"):
        _refuse_both(typed, typed.replace(",", "."), typed.replace(",", ""))
    if grouped and grouped.end() > len(typed):
        _refuse_grouped(grouped[0])
    if rest[:1] and rest[0] in ".,":
        raise NotationError(typed + rest, "a number has one decimal mark only", typed.rstrip(".,"))
    if rest.lstrip(" '_")[:1].isdigit():
        raise NotationError(typed + rest, "there is a gap inside the number", typed)


def _refuse_grouped(typed: str) -> None:
    marks = [char for char in typed if char in " .,'_"]
    is_decimal = len(set(marks)) > 1 or not re.search(r"[0-9]{3}\Z", typed)
    body, mark, tail = typed, "", ""
    if is_decimal:
        cut = typed.rindex(marks[-1])
        body, mark, tail = typed[:cut], ".", typed[cut + 1 :]
    joined = re.sub(r"[ .,'_]", "", body) + mark + tail
    single = typed.replace(marks[0], ".", 1) if len(marks) == 1 else ""
    _refuse_both(typed, single, joined)


def _refuse_both(typed: str, as_decimal: str, as_thousands: str) -> None:
    readings = f"{as_decimal} or {as_thousands}" if as_decimal else as_thousands
    raise NotationError(
        typed, f"“{typed}” may have a mark for thousands, so write {readings}", as_thousands
    )
