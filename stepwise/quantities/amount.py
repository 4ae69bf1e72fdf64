"""An amount: number, then unit or prefix, then form. Every notation is built of these."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stepwise.errors import NotationError
from stepwise.quantities.expected import Form
from stepwise.quantities.letter_code import take_letter_code
from stepwise.quantities.numeral import Numeral, take_numeral
from stepwise.quantities.units import PREFIXES, ScaledUnit, find_prefix, find_unit, known_unit

_FORM = re.compile(
    r"(rms|r\.m\.s\.?|eff|peak[ -]?to[ -]?peak|pk[ -]?to[ -]?pk|pk[ -]?pk|p[ -]?p|ptp"
    r"|peak|pk|p|dc|ac)\Z",
    re.IGNORECASE,
)
_UNIT_THEN_DIGITS = re.compile(r"(?P<unit>[A-Za-z]{1,2})(?P<digits>[0-9]{1,6})\Z")
_FORMS: Mapping[str, Form] = MappingProxyType(
    {
        "rms": Form.RMS,
        "eff": Form.RMS,
        "ac": Form.RMS,
        "dc": Form.DC,
        "pk": Form.PEAK,
        "peak": Form.PEAK,
        "p": Form.PEAK,
    }
)


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with as much of unit, prefix and form as was typed."""

    numeral: Numeral
    prefix: str | None
    """A prefix without a unit ("25m"); None where there was a unit, or nothing."""
    unit: ScaledUnit | None
    form: Form | None

    def in_si(self, default: ScaledUnit) -> Numeral:
        """The number in SI, in the unit typed or else in `default`.

        A prefix alone belongs to the unit without its own: "25m" is 25 mV even where a bare
        number would be in mV.

        Raises:
            NotationError: The prefix is not used with that unit.
        """
        if self.unit is not None:
            return self.numeral.times(self.unit.factor)
        if self.prefix is None:
            return self.numeral.times(default.factor)
        base = default.unit
        if self.prefix not in base.prefixes:
            raise NotationError(
                self.prefix,
                f"“{self.prefix}” does not go with {base.symbol or 'a plain number'} here",
                "m" if self.prefix == "M" and "m" in base.prefixes else None,
            )
        return self.numeral.times(PREFIXES[self.prefix] * base.factor)


def read_amount(text: str) -> Amount:
    """Read a whole text as one amount.

    Args:
        text: For instance "17.0 Vrms", "4k7", "25m", "8R2", "48 V p-p", "20".

    Raises:
        NotationError: The text does not begin with a number, or what follows it is no unit.
    """
    stripped = text.strip()
    code = take_letter_code(stripped)
    if code is None:
        numeral, rest = take_numeral(stripped)
        return _with_tail(numeral, rest.strip())
    coded, rest = code
    return _with_code(coded.numeral, coded.prefix, coded.is_resistance, rest.strip())


def _with_code(numeral: Numeral, prefix: str, is_resistance: bool, tail: str) -> Amount:
    if is_resistance:
        if tail and (after := find_unit(tail)) != known_unit("ohm"):
            got = after.symbol if after else tail
            raise NotationError(tail, f"“R” says Ω already, not {got}", f"{numeral.text} ohm")
        return Amount(numeral, None, known_unit("ohm"), None)
    if not tail:
        return Amount(numeral, prefix, None, None)
    word, form = split_form(tail)
    scaled = find_unit(prefix + word) if word else None
    if word and scaled is None:
        raise NotationError(tail, f"“{prefix}…{tail}” is not a unit that is known here")
    return Amount(numeral, None if scaled else prefix, scaled, form)


def _with_tail(numeral: Numeral, tail: str) -> Amount:
    if not tail:
        return Amount(numeral, None, None, None)
    word, form = (tail, None) if tail == "p" else split_form(tail)
    if not word:
        return Amount(numeral, None, None, form)
    prefix = find_prefix(word)
    # "K" alone is kilo, or the kelvin where one is asked: the caller knows.
    scaled = find_unit(word)
    if prefix is not None and scaled is None:
        return Amount(numeral, prefix, None, form)
    if scaled is None:
        meant = _closed_up(word) or _shifted(word) or _mark_for_unit(numeral, word)
        raise NotationError(
            word if meant is None or meant[0].isalpha() else f"{numeral.text}{word}",
            f"“{word[:24]}” is not a unit that is known here",
            meant,
        )
    return Amount(numeral, None, scaled, form)


def _closed_up(word: str) -> str | None:
    """A prefix and its unit that were typed apart: "m V"."""
    apart = word[1:2] == " " and find_prefix(word[:1]) is not None
    return word[:1] + word[2:] if apart and find_unit(word[:1] + word[2:]) is not None else None


def _shifted(word: str) -> str | None:
    """The unit with its prefix as it was meant; an old "MF" on a capacitor is a microfarad.

    Shift held a little too long: "20 MV" is meant as millivolts more often than not.
    """
    if word[:1] != "M":
        return None
    meant = ("u" if word[1:] in ("F", "f") else "m") + word[1:]
    return meant if find_unit(meant) is not None else None


def _mark_for_unit(numeral: Numeral, word: str) -> str | None:
    """The unit where the decimal mark would stand, "12V5", as on a circuit diagram."""
    split = _UNIT_THEN_DIGITS.match(word)
    if split is None or find_unit(split["unit"]) is None or not numeral.text.isdigit():
        return None
    return f"{numeral.text}.{split['digits']} {split['unit']}"


def split_form(tail: str) -> tuple[str, Form | None]:
    """Part a unit from its form: "Vpp" -> ("V", peak-to-peak); a unit alone has none."""
    if find_unit(tail) is not None:
        return tail, None
    match = _FORM.search(tail)
    if match is None:
        return tail, None
    word = re.sub(r"[ .-]", "", match[1].lower())
    return tail[: match.start()].strip(), _FORMS.get(word, Form.PEAK_TO_PEAK)
