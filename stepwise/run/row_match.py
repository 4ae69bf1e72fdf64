"""Which prompt a row of notes answers; places are compared by value, so 0.02 kHz is 20 Hz."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stepwise.errors import DimensionError, NotationError, did_you_mean, known_here
from stepwise.quantities import require
from stepwise.run.notes import Row
from stepwise.steps import Prompt

_MOST_NAMED = 12
_UNITS_OF_LOOK = ("Hz", "F", "")
"""Of tone/capacitor/what, the point of a square wave."""


@dataclass(frozen=True, slots=True)
class Mismatch:
    """Why a row answers nothing."""

    cell: str
    what: str
    remedy: str


def match_row(row: Row, prompts: Sequence[Prompt]) -> Prompt | Mismatch:
    """Find the prompt that a row answers.

    Args:
        row: One row of the notes.
        prompts: Every prompt of the run.
    """
    there = [prompt for prompt in prompts if prompt.step.casefold() == row.step.casefold()]
    if not there:
        return _unknown("step", row.step, [prompt.step for prompt in prompts])
    here = _narrow("channel", row.channel, there, [prompt.of.channel for prompt in there])
    if isinstance(here, Mismatch):
        return here
    here = _narrow("load", row.load, here, [prompt.of.load for prompt in here])
    if isinstance(here, Mismatch):
        return here
    for prompt in here:
        if _is_point(row.point, prompt):
            return prompt
    return _unknown_point(row.point, here)


def _narrow(
    cell: str, written: str, prompts: Sequence[Prompt], places: Sequence[str | None]
) -> list[Prompt] | Mismatch:
    """The prompts whose channel or load is the one written."""
    unit = "ohm" if cell == "load" else ""
    known = [place for place in places if place is not None]
    if not known and written:
        what = f"this step is not repeated for each {cell}"
        return Mismatch(cell, what, "leave the cell empty")
    if known and not written:
        return Mismatch(
            cell, f"is empty, and this step is done for each {cell}", known_here(known, _MOST_NAMED)
        )
    found = [
        prompt
        for prompt, place in zip(prompts, places, strict=True)
        if _same(written, place or "", unit)
    ]
    # Words that look alike say nothing of loads: 16 ohm is not meant to be 8 ohm.
    return found or _unknown(cell, written, known, guess=cell != "load")


def _is_point(written: str, prompt: Prompt) -> bool:
    if written.casefold() in (prompt.point.casefold(), prompt.ask.casefold()):
        return True
    if prompt.kind == "sweep":
        return _same(written, prompt.point, "Hz")
    if prompt.kind == "square":
        parts, wanted = written.split("/"), prompt.point.split("/")
        return len(parts) == len(wanted) == len(_UNITS_OF_LOOK) and all(
            _same(*three) for three in zip(parts, wanted, _UNITS_OF_LOOK, strict=True)
        )
    return False


def _same(written: str, wanted: str, unit: str) -> bool:
    if written.strip().casefold() == wanted.casefold():
        return True
    if not unit:
        return False
    first, second = _value(written, unit), _value(wanted, unit)
    return first is not None and second is not None and math.isclose(first, second)


def _value(text: str, unit: str) -> float | None:
    """A quantity in its SI unit, with or without the unit: "8", "8 ohm", "8R", "1k"."""
    for attempt in (text, f"{text} {unit}"):
        try:
            return require(attempt, unit)
        except (NotationError, DimensionError):
            continue
    return None


def _unknown_point(written: str, prompts: Sequence[Prompt]) -> Mismatch:
    points = [prompt.point for prompt in prompts]
    hertz = _value(written, "Hz")
    if prompts[0].kind == "sweep" and hertz is not None and hertz > 0.0:
        rows = [(point, at) for point in points if (at := _value(point, "Hz")) is not None]
        nearest = min(rows, key=lambda row: abs(math.log(row[1] / hertz)), default=None)
        if nearest is not None:
            what = f"“{written}” is not among the frequencies of this sweep"
            return Mismatch("point", what, f"the nearest is {nearest[0]}")
    return _unknown("point", written, points)


def _unknown(cell: str, written: str, known: Sequence[str], *, guess: bool = True) -> Mismatch:
    what = f"there is no {cell} “{written[:60]}” here" if written else "is empty"
    names = known_here(known, _MOST_NAMED)
    return Mismatch(cell, what, did_you_mean(written, known, names) if guess else names)
