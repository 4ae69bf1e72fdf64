"""What the supply will read: secondary and rails, from the transformer, from one another."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stepwise.judge.findings import Result
from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.plausible import Plausible, by_ratio, like
from stepwise.quantities import format_estimate, format_value, with_signs

_OPEN_OVER_MARKED = 1.10
"""Secondary without load over what it is marked with: small transformers lose 5 % to 20 %
under load (common practice, no source)."""
_DIODES = 1.5
"""[V] Two diodes in the way of the current at idle (common practice, no source)."""


def secondary(asked: Asked) -> Iterator[Plausible]:
    """A secondary: from its marking, the other winding and the rails; loaded from idle."""
    if asked.kind == "clip" and _idle(asked, asked.name) is not None:
        yield from _loaded(asked, asked.name)
        return
    marked = asked.fact("transformer_secondary")
    if marked:
        words = f"the {format_value(marked, 'V')} that the secondary is marked with"
        yield by_ratio(marked * _OPEN_OVER_MARKED, (0.88, 1.15), (0.6, 1.27), words)
    for name in ("secondary_volts", "secondary_volts_2"):
        other = _idle(asked, name)
        if other is not None and name != asked.name:
            yield like(other, near=1.08, sure=1.3, words="of the other winding")
    yield from _behind_rails(asked)
    yield from _elsewhere(asked, near=1.06, sure=1.3)


def rail(asked: Asked) -> Iterator[Plausible]:
    """A rail: from the secondary, from the rail across, from the other channel, from idle."""
    if asked.kind == "clip":
        yield from _loaded(asked, asked.name)
        yield from _across(asked)
        return
    sign = -1.0 if asked.name == "rail_minus" else 1.0
    winding = _idle(asked, "secondary_volts")
    if winding is not None and winding.value > _DIODES:
        height = sign * (math.sqrt(2.0) * winding.value - _DIODES)
        volts = format_value(height, "V", digits=3)
        behind = format_estimate(winding.measure, "V")
        words = f"the {volts} that follow from {behind} at the secondary"
        yield by_ratio(height, (0.9, 1.07), (0.55, 1.3), words)
    yield from _across(asked)
    yield from _elsewhere(asked, near=1.06, sure=1.35)


def _behind_rails(asked: Asked) -> Iterator[Plausible]:
    """The winding that the rails without a tone came from: they stand at its peak, less a drop."""
    for name in ("rail_plus", "rail_minus"):
        for each in reversed(asked.readings(name)):
            is_near = each.channel in (None, asked.channel) or asked.channel is None
            if each.load is None and is_near and each.value:
                winding = (abs(each.value) + _DIODES) / math.sqrt(2.0)
                volts = format_value(winding, "V", digits=3)
                words = f"the {volts} behind a rail of {format_estimate(each.measure, 'V')}"
                yield by_ratio(winding, (0.92, 1.12), (0.45, 1.3), words)
                break


def _across(asked: Asked) -> Iterator[Plausible]:
    """The other rail of the same pass, which mirrors this one."""
    other = "rail_plus" if asked.name == "rail_minus" else "rail_minus"
    mirrored = asked.reading(other, step=asked.step, channel=asked.channel, load=asked.load)
    if mirrored is not None and mirrored.value:
        side = "positive" if other == "rail_plus" else "negative"
        yield like(mirrored, -1.0, near=1.12, sure=1.5, words=f"of the {side} rail")


def _loaded(asked: Asked, name: str) -> Iterator[Plausible]:
    """With the tone on: what it was at idle, less the sag; and as in the other passes."""
    idle = _idle(asked, name)
    if idle is not None and idle.value:
        words = f"the {format_estimate(idle.measure, 'V')} at idle"
        yield by_ratio(idle.value * 0.92, (0.78, 1.09), (0.5, 1.2), words)
    yield from _elsewhere(asked, near=1.12, sure=1.35)


def _idle(asked: Asked, name: str) -> Result | None:
    """The latest reading of that name without a tone that this prompt may be held against."""
    idle = [
        each
        for each in asked.readings(name)
        if each.load is None and each.channel in (None, asked.channel)
    ]
    return idle[-1] if idle else None


def _elsewhere(asked: Asked, *, near: float, sure: float) -> Iterator[Plausible]:
    for other in asked.elsewhere(asked.name):
        if other.value:
            yield like(other, near=near, sure=sure, words=place(other))


def place(result: Result) -> str:
    """Where another reading was taken, as the end of a phrase."""
    where = " into ".join(filter(None, (result.channel, with_signs(result.load))))
    return f"read before ({where})" if where else "read before"
