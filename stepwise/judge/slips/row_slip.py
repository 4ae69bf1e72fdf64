"""Slips in a row of readings: the frequency typed for the level, a row typed twice, out of step."""

from __future__ import annotations

from collections.abc import Sequence

from stepwise.judge.findings import Result
from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.response import first_order_step, other_channels, point_hertz, row
from stepwise.judge.slips.slip import Slip
from stepwise.quantities import Understood, format_estimate, format_value

_SAME_NUMBER = 1e-6
_CHANGE = 2.5
"""[dB] A slope that must change by so much from one row to the next does not read the same."""
_TOLD_APART = 2.0
"""[dB] Rows of the other channel that differ by so much can be told apart."""
_MATCH = 0.3
"""[dB] So near to the other channel's next row that chance is a poor explanation."""
_ALIKE = 0.7
"""[dB] The channels agreed so well in the rows before."""
_ROWS_ALIKE = 2


def frequency_for_level(asked: Asked, understood: Understood) -> Slip | None:
    """The frequency of the tone stands where its level is asked.

    Only for a value that no prediction holds: 20 may well be a level at 20 kHz.
    """
    if asked.hertz is None or understood.unit not in ("dB", "V"):
        return None
    number = understood.volts if understood.volts is not None else understood.value
    for scale in (1.0, 1000.0):
        if abs(number * scale - asked.hertz) <= _SAME_NUMBER * asked.hertz:
            told = format_value(asked.hertz, "Hz")
            said = f"{understood.typed.strip()} is the frequency of {told}, and its level is asked"
            return Slip("frequency", said)
    return None


def row_twice(asked: Asked, understood: Understood) -> Slip | None:
    """The same text as the row before, on a slope that cannot stand still."""
    before = _row_before(asked)
    if before is None or asked.hertz is None or before.typed is None:
        return None
    at = point_hertz(before.point)
    is_same = before.typed.strip() == understood.typed.strip() != "="
    if not is_same or at is None or before.value > -1.0:
        return None
    side = "low" if max(at, asked.hertz) < asked.reference_hertz else "high"
    expected = first_order_step(before.value, at, asked.hertz, side)
    if abs(expected - before.value) < _CHANGE:
        return None
    if any(each.fits(understood.value) for each in other_channels(asked)):
        return None
    here, there = format_value(asked.hertz, "Hz"), format_value(at, "Hz")
    said = (
        f"{understood.typed.strip()} was typed at {there} just before, and at {here} a slope"
        f" like that stands near {format_value(expected, 'dB', digits=2)}: the same row twice?"
    )
    return Slip("row-twice", said)


def out_of_step(asked: Asked, understood: Understood) -> Slip | None:
    """A level that the other channel had one row farther, after rows in which both agreed."""
    for other in {each.channel for each in asked.elsewhere("level_db")}:
        theirs = row(asked, other)
        mine = {result.point: result.value for _, result in row(asked, asked.channel)}
        place = next((n for n, (_, each) in enumerate(theirs) if each.point == asked.point), None)
        if place is None or not _agreed(mine, [result for _, result in theirs]):
            continue
        here = theirs[place][1]
        if abs(understood.value - here.value) < _TOLD_APART:
            continue
        for there in (place - 1, place + 1):
            if not 0 <= there < len(theirs):
                continue
            hertz, next_row = theirs[there]
            is_apart = abs(next_row.value - here.value) >= _TOLD_APART
            if is_apart and abs(understood.value - next_row.value) <= _MATCH:
                said = (
                    f"{format_value(understood.value, 'dB')} is what the {other} channel read at"
                    f" {format_value(hertz, 'Hz')}; at {here.point} it read"
                    f" {format_estimate(here.measure, 'dB')}: one row out of step?"
                )
                return Slip("out-of-step", said)
    return None


def _agreed(mine: dict[str | None, float], theirs: Sequence[Result]) -> bool:
    apart = [abs(mine[each.point] - each.value) for each in theirs if each.point in mine]
    return len(apart) >= _ROWS_ALIKE and max(apart) <= _ALIKE


def _row_before(asked: Asked) -> Result | None:
    read = asked.readings("level_db", step=asked.step, channel=asked.channel)
    return next((result for result in read if result.key == asked.last_key), None)
