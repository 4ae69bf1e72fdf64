"""The sign of a level left out: a row that falls towards its ends, and one level that rises.

Ends of a row fall; humps are climbed from one frequency to the next. So a level above 0 dB is held
against what was read on the way out, and against the other channels.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import chain

from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.candidate import Candidate
from stepwise.judge.slips.meant import meant_text
from stepwise.judge.slips.plausible import Plausible
from stepwise.judge.slips.relation import amount, relation
from stepwise.judge.slips.response import (
    decibels,
    first_order_step,
    other_channels,
    row,
)
from stepwise.judge.slips.slip import Slip
from stepwise.quantities import Understood, format_value

_TENTHS = 0.4
"""[dB] Farther above 0 dB than what a scale and an eye make of a flat row."""
_FALLEN = -0.3
"""[dB] Here a row has begun to fall."""
_STEP = 2.0
"""[dB] No hump begins with so high a step."""
_IN_VOLTS = re.compile(r"[v/]|on", re.IGNORECASE)
_LOW_END = 0.05
_RISE_AT_END = 0.8
"""[dB] At a twentieth of the reference and below, boards fall or stay (common practice, no source):
a rise there, with nothing else read of that end, is asked about."""
_ON_SLOPE = 0.35
_ON_SLOPE_SHARE = 0.15
"""How near to a first-order slope a level lies that stands on it [dB, and share of it]."""

Point = tuple[float, float]
"""A frequency [Hz] with its level [dB]."""


def sign_left_out(
    asked: Asked, understood: Understood, plausible: Sequence[Plausible]
) -> Slip | None:
    """A level above 0 dB that was probably meant below it.

    Args:
        asked: A level of a sweep.
        understood: What was typed.
        plausible: What predicts it.
    """
    value = understood.value
    if value < _TENTHS or not _may_lack_sign(asked, understood):
        return None
    others = list(other_channels(asked))
    if any(abs(value - each.centre) < abs(value + each.centre) for each in others):
        return None  # another channel rises there too
    fits = any(each.fits(-value) for each in plausible)
    if not fits or not all(each.holds(-value) for each in plausible):
        return None
    against = next(chain(_mirrored(value, others), _against_row(asked, value)), None)
    found = meant_text(asked, understood, Candidate("sign", -value, ""))
    if against is None or found is None:
        return None
    text, entry = found
    meant = amount(entry.value, entry.unit, entry.form)
    said = f"{relation(understood, against)}; with the other sign it is {meant}"
    return Slip("sign", said, text, entry.echo)


def _may_lack_sign(asked: Asked, understood: Understood) -> bool:
    """Whether it is a bare figure, in a row of decibels."""
    typed = understood.typed.strip()
    if asked.hertz is None or understood.volts is not None or typed == "=" or typed[:1] == "+":
        return False
    reference = asked.expected.reference_volts
    if reference and 0.3 * reference <= understood.value <= 1.05 * reference:
        # It may be volts with the unit left out, unless this row is written in decibels.
        here = row(asked, asked.channel)
        return bool(here) and not any(_IN_VOLTS.search(each.typed or "") for _, each in here)
    return True


def _mirrored(value: float, others: Sequence[Plausible]) -> Iterator[Plausible]:
    """Another channel's level there, whose negative was typed."""
    for each in others:
        near = max(0.5, 0.3 * abs(each.centre))
        if each.centre <= -_TENTHS and abs(value + each.centre) <= near:
            yield each


def _against_row(asked: Asked, value: float) -> Iterator[Plausible]:
    """What was read of the row, where a level above 0 dB does not go with it."""
    inner, outer = _sides(asked)
    nearest, *further = inner
    fallen = next((each for each in inner if each[1] <= _FALLEN), None)
    if fallen is not None and fallen == nearest:
        yield _at(asked, fallen, ", where the row had begun to fall")
    is_climbing = bool(further) and nearest[1] - further[0][1] >= _TENTHS and fallen is None
    is_hump = bool(outer) and outer[0][1] >= value - _STEP
    if value - nearest[1] > _STEP and not is_climbing and not is_hump:
        yield _at(asked, nearest)
    is_first = not further and not outer and (asked.hertz or 0.0) <= _LOW_END * nearest[0]
    if is_first and value >= _RISE_AT_END:
        yield _at(asked, nearest)
    if outer and outer[0][1] <= -_TENTHS and not is_climbing:
        yield from _on_slope(asked, outer[0], value)


def _sides(asked: Asked) -> tuple[list[Point], list[Point]]:
    """The row from here to the reference, and from here outwards; the nearest first."""
    hertz, zero = asked.hertz or 0.0, asked.reference_hertz
    read = [(each, result.value) for each, result in row(asked, asked.channel) if each != hertz]
    below = sorted((each for each in read if each[0] < hertz), reverse=True)
    above = sorted(each for each in read if each[0] > hertz)
    inner, outer = (below, above) if hertz > zero else (above, below)
    between = [each for each in inner if (each[0] > zero) == (hertz > zero) and each[0] != zero]
    return [*between, (zero, 0.0)], outer


def _on_slope(asked: Asked, outer: Point, value: float) -> Iterator[Plausible]:
    """A slope that was begun farther out, on which the level stands with the other sign."""
    hertz, zero = asked.hertz or 0.0, asked.reference_hertz
    level = first_order_step(outer[1], outer[0], hertz, "low" if hertz < zero else "high")
    if abs(level + value) <= _ON_SLOPE + _ON_SLOPE_SHARE * value:
        words = f"the {decibels(level)} that follow from {decibels(outer[1])}"
        yield _about(level, f"{words} at {format_value(outer[0], 'Hz')}")


def _at(asked: Asked, point: Point, more: str = "") -> Plausible:
    if point[0] == asked.reference_hertz:
        return _about(0.0, "the 0 dB of the reference, and ends of a row do not rise")
    return _about(point[1], f"the {decibels(point[1])} at {format_value(point[0], 'Hz')}{more}")


def _about(level: float, words: str) -> Plausible:
    return Plausible(level, (level, level), (level, level), words)
