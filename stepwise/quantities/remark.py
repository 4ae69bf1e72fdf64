"""Answers that measure nothing: a confirmation, a text, a mark from 0 to 10."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from stepwise.errors import NotationError
from stepwise.quantities.expected import Expected, Understood
from stepwise.quantities.numeral import NUMBER, read_numeral

_CONFIRM: Mapping[str, float] = MappingProxyType(
    {"y": 1.0, "yes": 1.0, "+": 1.0, "ok": 1.0, "done": 1.0, "n": 0.0, "no": 0.0, "-": 0.0}
)
_MARK = re.compile(rf"(?P<mark>{NUMBER})(?: ?(?:/|of|out of) ?10)?\Z", re.IGNORECASE)


def read_confirmation(typed: str, text: str, expected: Expected) -> Understood:
    """Read yes or no: value 1.0 or 0.0. The keypad's + and - will do.

    Args:
        typed: The entry exactly as typed.
        text: The same, normalised.
        expected: What the prompt expects.

    Raises:
        NotationError: It is neither.
    """
    value = _CONFIRM.get(text.lower())
    if value is None:
        raise NotationError(text, "the answer is y (or +) or n (or -)", "y")
    return _remark(typed, value, f"read as {'yes' if value else 'no'}", expected)


def read_text(typed: str, text: str, expected: Expected) -> Understood:
    """Take a text as it is; `typed` keeps it, the value is 0.0.

    Args:
        typed: The entry exactly as typed.
        text: The same, normalised.
        expected: What the prompt expects.

    Raises:
        NotationError: It is blank.
    """
    if not text:
        raise NotationError(text, "the text is empty")
    return _remark(typed, 0.0, "noted as written", expected)


def read_mark(typed: str, text: str, expected: Expected) -> Understood:
    """Read a mark from 0 to 10.

    Args:
        typed: The entry exactly as typed.
        text: The same, normalised.
        expected: What the prompt expects.

    Raises:
        NotationError: It is no number from 0 to 10.
    """
    match = _MARK.match(text)
    if match is None:
        raise NotationError(text, "a mark is a number from 0 to 10", "7")
    numeral = read_numeral(match["mark"])
    if not 0.0 <= numeral.value <= 10.0:
        raise NotationError(text, f"{numeral.text} is not from 0 to 10", "7")
    return _remark(typed, numeral.value, f"read as {numeral.text} of 10", expected, numeral.step)


def _remark(
    typed: str, value: float, echo: str, expected: Expected, step: float = 0.0
) -> Understood:
    return Understood(
        typed=typed,
        value=value,
        unit="",
        form=expected.form,
        typed_form=expected.form,
        echo=echo,
        step=step,
    )
