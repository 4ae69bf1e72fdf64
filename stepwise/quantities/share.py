"""Shares: per cent, or divisions out of divisions as the eye takes them from a trace."""

from __future__ import annotations

import re

from stepwise.errors import NotationError
from stepwise.quantities.expected import Expected, Understood
from stepwise.quantities.format import format_value
from stepwise.quantities.numeral import NUMBER, read_numeral

_DIV = r"(?: ?div(?:s|ision|isions)?)?"
_OF = re.compile(
    rf"(?P<part>{NUMBER}){_DIV} ?(?:/|of|out of|in) ?(?P<whole>{NUMBER}){_DIV}\Z", re.IGNORECASE
)
_PER_CENT = re.compile(rf"(?P<number>{NUMBER}) ?(?:%|percent|per cent|pct)?\Z", re.IGNORECASE)
_NOTHING = frozenset({"none", "flat"})
_LARGEST = 1000.0
"""Beyond ten times the step nothing is an overshoot or a tilt [%]."""


def read_share(typed: str, text: str, expected: Expected) -> Understood:
    """Read a share in per cent.

    For divisions out of divisions, `divisions` holds the part and `per_division` the whole,
    both in divisions.

    Args:
        typed: The entry exactly as typed.
        text: The same, normalised.
        expected: What the prompt expects.

    Raises:
        NotationError: It is neither a percentage nor one length out of another.
    """
    if text.lower() in _NOTHING:
        return _share(typed, 0.0, 0.0, f"read as 0 %: {text.lower()}", expected)
    of = _OF.match(text)
    if of is not None:
        return _out_of(typed, of, expected)
    match = _PER_CENT.match(text)
    if match is None:
        raise NotationError(
            text, "a share is a percentage, or divisions out of divisions such as 0.4/5"
        )
    numeral = read_numeral(match["number"])
    _refuse_large(numeral.value, text)
    shown = format_value(numeral.value, "%", step=numeral.step)
    return _share(typed, numeral.value, numeral.step, f"read as {shown}", expected)


def _out_of(typed: str, of: re.Match[str], expected: Expected) -> Understood:
    part, whole = read_numeral(of["part"]), read_numeral(of["whole"])
    if whole.value <= 0.0:
        raise NotationError(of["whole"], "the whole is more than 0 divisions", "5")
    value = 100.0 * part.value / whole.value
    _refuse_large(value, of[0])
    step = 100.0 * part.step / whole.value
    echo = f"read as {format_value(value, '%')}: {part.text} of {whole.text} divisions"
    return _share(typed, value, step, echo, expected, (part.value, whole.value))


def _refuse_large(value: float, text: str) -> None:
    if abs(value) > _LARGEST:
        raise NotationError(text, "that is more than ten times the whole")


def _share(
    typed: str,
    value: float,
    step: float,
    echo: str,
    expected: Expected,
    lengths: tuple[float, float] | tuple[None, None] = (None, None),
) -> Understood:
    return Understood(
        typed=typed,
        value=value,
        unit="%",
        form=expected.form,
        typed_form=expected.form,
        echo=echo,
        step=step,
        divisions=lengths[0],
        per_division=lengths[1],
    )
