"""Level or rail: which of two readings that contradict one another is out of line with its like.

A rail stands beside the rail across, itself at idle and itself in the other passes; a level
beside the levels of the other passes and the rail at idle, which no swing passes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from statistics import median_low

from stepwise.judge.findings import Findings, Result

_OUT_OF_LINE = 1.2
"""Ratio to its like from which a reading is doubted: passes and rails differ by less (common
practice, no source)."""
_LOADED = 0.92
"""What is left of an idle rail with the tone on [1]: common practice, no source."""
_ACROSS = {"rail_plus": "rail_minus", "rail_minus": "rail_plus"}


@dataclass(frozen=True, slots=True)
class Suspect:
    """The reading to take again first."""

    is_rail: bool
    beside: Result | None
    """What it is out of line with; None where nothing speaks for either."""


def suspect(level: Result, rail: Result, swing: float, findings: Findings) -> Suspect:
    """Which of the two the others speak against; the level, where they do not tell.

    Args:
        level: The level that passes the rail.
        rail: The lower rail.
        swing: Least height of the rail that the level needs [V].
        findings: With what was read beside them.
    """
    low, under = _typical(
        [(_ratio(size, rail.value), each) for size, each in _rails(rail, findings)]
    )
    high, over = _typical(
        [(_ratio(level.value, each.value), each) for each in _elsewhere(level, findings)]
    )
    idle = findings.last(rail.name, load=None)
    if idle is not None and rail.load is not None and _ratio(swing, idle.value) > max(high, 1.0):
        high, over = _ratio(swing, idle.value), idle
        if low < high:
            return Suspect(False, over)
    if low >= _OUT_OF_LINE and low > high:
        return Suspect(True, under)
    return Suspect(False, over if high >= _OUT_OF_LINE else None)


def _rails(rail: Result, findings: Findings) -> Iterator[tuple[float, Result]]:
    """What the rail should be [V], by each of its like."""
    where = {"step": rail.step, "channel": rail.channel, "load": rail.load}
    across = findings.first(_ACROSS[rail.name], **where)
    if across is not None:
        yield abs(across.value), across
    for other in _elsewhere(rail, findings):
        yield abs(other.value), other
    idle = findings.last(rail.name, load=None)
    if rail.load is not None and idle is not None:
        yield abs(idle.value) * _LOADED, idle


def _elsewhere(result: Result, findings: Findings) -> list[Result]:
    """The same in the other passes of its step."""
    return [
        other
        for other in findings.named(result.name, step=result.step)
        if (other.channel, other.load) != (result.channel, result.load)
    ]


def _ratio(over: float, under: float) -> float:
    return abs(over / under) if under else 0.0


def _typical(ratios: list[tuple[float, Result]]) -> tuple[float, Result | None]:
    """The middle one, the lower where there are two; 1 where there is none."""
    if not ratios:
        return 1.0, None
    middle = median_low([ratio for ratio, _ in ratios])
    return middle, next(each for ratio, each in ratios if ratio == middle)
