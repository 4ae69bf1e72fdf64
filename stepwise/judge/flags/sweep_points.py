"""A sweep as flags see it: its points in the order of their frequencies, and its two ends."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from stepwise.errors import NotationError
from stepwise.judge.findings import Findings, Result
from stepwise.quantities import require


@dataclass(frozen=True, slots=True)
class SweepRow:
    """One sweep of one channel."""

    step: str
    channel: str | None
    points: tuple[tuple[float, Result], ...]
    """Frequency [Hz], ascending, and level [dB]."""
    corner_low: Result | None
    """Corner, or natural frequency of a second-order end [Hz]."""
    q_low: Result | None
    corner_high: Result | None
    minus_3db_high: Result | None


def sweep_rows(findings: Findings) -> Iterator[SweepRow]:
    """Every sweep, in the order of the procedure."""
    places = dict.fromkeys((each.step, each.channel) for each in findings.named("level_db"))
    for step, channel in places:
        yield _row(findings, step, channel)


def board_rows(findings: Findings) -> tuple[SweepRow, ...]:
    """Those of an amplifier: a square wave is not held against the bench's own response."""
    return tuple(row for row in sweep_rows(findings) if not findings.is_of_bench(row.step))


def row_for(rows: Sequence[SweepRow], channel: str | None) -> SweepRow | None:
    """The latest sweep of a channel; one made for no channel in particular serves all."""
    return next((row for row in reversed(rows) if row.channel in (None, channel)), None)


def _row(findings: Findings, step: str, channel: str | None) -> SweepRow:
    def one(name: str) -> Result | None:
        # No frequency and no Q is zero or less; what says so is no end of a response.
        found = findings.first(name, step=step, channel=channel)
        return found if found is not None and found.value > 0.0 else None

    read = findings.named("level_db", step=step, channel=channel)
    points = [(hertz, level) for level in read if (hertz := point_hertz(level)) is not None]
    return SweepRow(
        step, channel, tuple(sorted(points, key=lambda point: point[0])),
        one("corner_low"), one("q_low"), one("corner_high"), one("minus_3db_high"),
    )  # fmt: skip


def point_hertz(result: Result) -> float | None:
    """Frequency of a point of a sweep [Hz]."""
    return _hertz(result.point)


def square_hertz(result: Result) -> float | None:
    """Frequency of the square wave that something was seen on [Hz]: tone/capacitor/what."""
    return _hertz((result.point or "").split("/")[0])


def square_capacitor(result: Result) -> str | None:
    """The capacitor across the load that something was seen with; None for none."""
    parts = (result.point or "").split("/")
    return parts[1] if len(parts) > 1 and parts[1] != "none" else None


_QUICK: Mapping[str, float] = MappingProxyType({"Hz": 1.0, "kHz": 1e3})
"""What nearly every point is written in; asking for a unit by name takes ten times as long, and
flags are looked for after each key press."""


@lru_cache(maxsize=1024)
def _hertz(text: str | None) -> float | None:
    if not text:
        return None
    number, _, unit = text.partition(" ")
    try:
        if unit in _QUICK:
            return float(number) * _QUICK[unit]
        return require(text, "Hz")
    except (NotationError, ValueError):
        return None
