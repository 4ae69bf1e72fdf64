"""Bench notation: what a person types at a prompt, to what it means.

`parse_entry` is pure, quick enough for every key press, takes time in proportion to the length
of the text, and never raises for any text whatever: an entry that cannot be read is a
`Refusal`, whose suggestion can itself be typed at the same prompt.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

from stepwise.errors import NotationError
from stepwise.quantities.amount import read_amount
from stepwise.quantities.expected import Answer, Expected, Refusal, Understood
from stepwise.quantities.level import read_level
from stepwise.quantities.numeral import take_numeral
from stepwise.quantities.reading import read_reading
from stepwise.quantities.remark import read_confirmation, read_mark, read_text
from stepwise.quantities.share import read_share
from stepwise.quantities.touch import read_heat
from stepwise.quantities.units import ScaledUnit, find_unit, known_unit
from stepwise.quantities.wave import NoSineError, form_factor

_LONGEST = 80
_LONGEST_TEXT = 4000
_EQUAL_SIGNS = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "\u2010": "-",
        "\u2011": "-",
        "\uff0d": "-",
        "×": "x",
        "*": "x",
        "@": " at ",
        "✕": "x",
        "\u00a0": " ",
        "\u202f": " ",
    }
)
_READERS: Mapping[Answer, Callable[[str, str, Expected], Understood]] = MappingProxyType(
    {
        Answer.QUANTITY: read_reading,
        Answer.LEVEL: read_level,
        Answer.SHARE: read_share,
        Answer.HEAT: read_heat,
        Answer.CONFIRM: read_confirmation,
        Answer.TEXT: read_text,
        Answer.MARK: read_mark,
    }
)
_FIRST_WORD = re.compile(r" ?([^\W\d_]+|%)(?![0-9])")
_BY_UNIT: Mapping[str, Callable[[str, str, Expected], Understood]] = MappingProxyType(
    {"dB": read_level, "%": read_share}
)
_EXAMPLES: Mapping[Answer, str] = MappingProxyType(
    {
        Answer.LEVEL: "-4.5 dB",
        Answer.SHARE: "8 %",
        Answer.HEAT: "61 C",
        Answer.CONFIRM: "y",
        Answer.TEXT: "as it should be",
        Answer.MARK: "7",
    }
)
_EXAMPLE_NUMBERS: Mapping[str, str] = MappingProxyType(
    {"voltage": "17.0", "resistance": "8.2", "temperature": "61", "current": "0.25"}
)
_REPEATED = frozenset({Answer.QUANTITY, Answer.LEVEL, Answer.SHARE, Answer.HEAT, Answer.MARK})


def parse_entry(text: str, expected: Expected) -> Understood | Refusal:
    """Read what was typed at a prompt.

    Args:
        text: The entry exactly as typed; anything whatever.
        expected: What the prompt expects.

    Returns:
        What was understood, with the sentence that says so; or why it was not, with the
        nearest form that can be read at this prompt.

    Raises:
        NotationError: The prompt's own unit is not in the table, a fault of the program that
            asks: procedures are checked when they are read.
    """
    known_unit(expected.unit)
    plain = _normalised(text)
    try:
        return _understand(text, plain, expected)
    except NotationError as error:
        place = text.lower().find(error.text.lower()) if error.text else -1
        return Refusal(
            typed=text,
            reason=error.reason,
            nearest=_nearest(plain, error, expected),
            at=place if place >= 0 else None,
        )


def example(expected: Expected) -> str:
    """An entry that can be typed at a prompt, to show its notation.

    Args:
        expected: What the prompt expects.

    Raises:
        NotationError: The prompt's own unit is not in the table.
    """
    if expected.answer is not Answer.QUANTITY:
        return _EXAMPLES[expected.answer]
    scaled = known_unit(expected.unit)
    number = _EXAMPLE_NUMBERS.get(scaled.unit.dimension, "10")
    return f"{number} {expected.unit}".rstrip()


def _normalised(text: str) -> str:
    # Cut before anything looks at it: a pasted file must not slow the echo down.
    return " ".join(text[: _LONGEST_TEXT + 1].translate(_EQUAL_SIGNS).split())


def _understand(typed: str, plain: str, expected: Expected) -> Understood:
    _refuse_unreadable(typed, plain, expected)
    if plain == "=" and expected.answer in _REPEATED:
        return _repeat(typed, expected)
    reader = _READERS[expected.answer]
    if expected.answer is Answer.QUANTITY:
        reader = _BY_UNIT.get(known_unit(expected.unit).unit.si, reader)
    return reader(typed, plain, expected)


def _refuse_unreadable(typed: str, plain: str, expected: Expected) -> None:
    is_text = expected.answer is Answer.TEXT
    if not plain:
        raise NotationError("", "nothing was typed")
    if len(typed) > (_LONGEST_TEXT if is_text else _LONGEST):
        raise NotationError("", "that is longer than any answer to this prompt")
    if not plain.isprintable():
        odd = next(char for char in plain if not char.isprintable())
        raise NotationError(odd, "there is a character in it that cannot be shown")
    if is_text or plain.isascii():
        return
    if "±" in plain:
        reason = "the uncertainty comes from the meter, so the reading is typed alone"
        raise NotationError(plain[plain.index("±") :], reason)
    for char in plain:
        if char.isnumeric() and not char.isascii():
            raise NotationError(char, f"digits are 0 to 9 here, not “{char}”")


def _repeat(typed: str, expected: Expected) -> Understood:
    last = expected.last
    if last is None:
        what = f": it repeats {expected.repeats}" if expected.repeats else ""
        raise NotationError("=", f"there is no reading yet that “=” could repeat{what}")
    wanted = _kept_unit(expected)
    if last.unit != wanted or last.form is not expected.form:
        had, asked = f"{last.unit} {last.form}".strip(), f"{wanted} {expected.form}".strip()
        raise NotationError("=", f"the last reading was in {had}, and {asked} is asked here")
    said = last.echo.partition(": ")[0]
    where = expected.last_where or "the last"
    return replace(last, typed=typed, echo=f"{said}: the same as {where}")


def _kept_unit(expected: Expected) -> str:
    fixed = {Answer.LEVEL: "dB", Answer.SHARE: "%", Answer.HEAT: "C", Answer.MARK: ""}
    return fixed.get(expected.answer, known_unit(expected.unit).unit.si)


def _nearest(plain: str, error: NotationError, expected: Expected) -> str:
    """The nearest text that this prompt takes: the piece mended, or an example."""
    if isinstance(error, NoSineError):
        return example(expected)
    mended = error.nearest or ""
    candidates = [mended]
    if mended and error.text and error.text != plain:
        # The last place: in "2.5 on 5" it is the range that is wrong.
        before, _, after = plain.rpartition(error.text)
        candidates.insert(0, before + mended + after)
    if not any(_is_of_another_kind(text, expected) for text in (plain, error.text)):
        candidates.extend(_number_alone(plain, expected))
    for candidate in candidates:
        if candidate and candidate != plain and _is_understood(candidate, expected):
            return candidate
    return example(expected)


def _is_of_another_kind(text: str, expected: Expected) -> bool:
    """Whether a text states something else than is asked, so that its number must not be kept.

    20 ohm where volts are asked is not 20 V, 48 V peak-to-peak is not 48 V DC, and 100n where
    ohms are asked is no resistance: who takes such a remedy records what nobody read.
    """
    wanted = known_unit(expected.unit).unit
    try:
        amount = read_amount(text[:_LONGEST])
    except NotationError:
        unit = _first_unit(text)
        return unit is not None and unit.unit.dimension != wanted.dimension
    try:
        form_factor(amount.form, expected.form, is_sine=expected.is_sine)
    except NotationError:
        return True
    if amount.unit is not None:
        return amount.unit.unit.dimension != wanted.dimension
    return amount.prefix is not None and amount.prefix not in wanted.prefixes


def _first_unit(text: str) -> ScaledUnit | None:
    """The unit right behind the number, of a text that goes on behind it."""
    try:
        _, rest = take_numeral(text[:_LONGEST])
    except NotationError:
        return None
    word = _FIRST_WORD.match(rest)
    return find_unit(word[1]) if word else None


def _number_alone(plain: str, expected: Expected) -> list[str]:
    """The number typed, with its own unit where that is of the kind, else with the expected one."""
    try:
        numeral, rest = take_numeral(plain[:_LONGEST])
    except NotationError:
        return []
    word = _FIRST_WORD.match(rest)
    typed = [f"{numeral.text} {word[1]}"] if word and find_unit(word[1]) is not None else []
    return [*typed, f"{numeral.text} {expected.unit}".rstrip()]


def _is_understood(text: str, expected: Expected) -> bool:
    try:
        _understand(text, _normalised(text), expected)
    except NotationError:
        return False
    return True
