"""What a level will read: from the rails, from the other passes, from the same setting."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from stepwise.judge.findings import Result
from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.bounds import without_rails
from stepwise.judge.slips.plausible import Plausible, by_ratio, like
from stepwise.judge.slips.supply import place
from stepwise.quantities import format_estimate, format_value, require

_OF_THE_RAIL = 0.8
"""Clean peak over the idle rail: what sag and the stage's own drop leave of it, in the middle
of what boards do (common practice, no source)."""
_GAIN = 20.0
"""Voltage gain of a power stage, in the middle of 10 to 50 (common practice, no source)."""
_SAME_SETTING = ("level_open", "level_8", "level_4")

_RAILS: Mapping[str, float] = MappingProxyType({"rail_plus": 1.0, "rail_minus": -1.0})


def clean(asked: Asked) -> Iterator[Plausible]:
    """The level just before clipping: below the rail's peak, and as in the other passes."""
    yield from _ceiling(asked, 1.05) if _has_rails(asked) else without_rails(asked)
    yield from _other_passes(asked, "level")
    loud = _here(asked, "level_at_ten_percent")
    if loud is not None:
        yield like(loud, 0.9, near=1.12, sure=1.3, words="read with flattened tops")


def flattened(asked: Asked) -> Iterator[Plausible]:
    """The level at 10 %: somewhat more than the clean one."""
    yield from _ceiling(asked, 1.3)
    level = _here(asked, "level")
    if level is not None and level.value > 0.0:
        words = f"the clean {format_estimate(level.measure, 'V')}"
        yield by_ratio(level.value * 1.12, (0.9, 1.12), (0.8, 1.21), words)
    yield from _other_passes(asked, "level_at_ten_percent")


def same_setting(asked: Asked) -> Iterator[Plausible]:
    """Levels at one setting of the oscillator: a load takes a little off, no more."""
    others = [other for name in _SAME_SETTING if (other := _here(asked, name)) is not None]
    for other in others:
        if other.value > 0.0:
            yield like(other, near=1.12, sure=1.35, words="at the same setting")
    source = _here(asked, "input_level")
    if others or source is None or source.value <= 0.0:
        return
    gain = _gain_elsewhere(asked)
    told = format_estimate(source.measure, "V")
    if gain is not None:
        volts = format_value(gain * source.value, "V", digits=3)
        words = f"the {volts} that {told} at the input and the other channel's gain make"
        yield by_ratio(gain * source.value, (0.85, 1.18), (0.5, 2.0), words)
    else:
        words = f"what any gain makes of {told} at the input"
        yield by_ratio(_GAIN * source.value, (0.5, 2.5), (0.1, 8.0), words)


def _gain_elsewhere(asked: Asked) -> float | None:
    for source in asked.elsewhere("input_level"):
        for level in asked.elsewhere("level_open"):
            if level.channel == source.channel and source.value > 0.0:
                return level.value / source.value
    return None


def reference(asked: Asked) -> Iterator[Plausible]:
    """The reference of a sweep: below the clean level, and as on the other channel.

    People set it lower than the card asks, to have the pointer on 0 dB; above clipping it is
    no level at all.
    """
    if asked.aim:
        words = f"the {format_value(asked.aim, 'V', digits=2)} that the card asks for"
        yield by_ratio(asked.aim, (0.8, 1.25), (0.01, 3.6), words)
    for other in asked.elsewhere("reference"):
        if other.value > 0.0:
            yield like(other, near=1.15, sure=1.8, words=place(other))


def reference_again(asked: Asked) -> Iterator[Plausible]:
    """The reference once more: what it was."""
    first = _here(asked, "reference")
    if first is not None and first.value > 0.0:
        yield like(first, near=1.08, sure=1.3, words="read at the start")


def _ceiling(asked: Asked, most: float) -> Iterator[Plausible]:
    """No level is higher than the rails let it swing.

    Source:
        Peak of a sine below the rail: U <= U_rail / sqrt 2.
    """
    for name, sign in _RAILS.items():
        loaded = _here(asked, name)
        rail = loaded or _idle_rail(asked, name)
        if rail is None or sign * rail.value <= 0.0:
            continue
        top = sign * rail.value / math.sqrt(2.0)
        share = 0.93 if loaded is not None else _OF_THE_RAIL
        near = (0.75, 1.05) if loaded is not None else (0.62, 1.22)
        volts = format_value(share * top, "V", digits=2)
        told = format_estimate(rail.measure, "V")
        words = f"the {volts} or so that a rail of {told} allows"
        yield by_ratio(share * top, near, (0.25 / share, most / share), words)
        return


def _has_rails(asked: Asked) -> bool:
    return any(_here(asked, name) or _idle_rail(asked, name) for name in _RAILS)


def _idle_rail(asked: Asked, name: str) -> Result | None:
    rails = [
        each
        for each in asked.readings(name)
        if each.load is None and each.channel in (None, asked.channel)
    ]
    return rails[-1] if rails else None


def _other_passes(asked: Asked, name: str) -> Iterator[Plausible]:
    for other in asked.elsewhere(name):
        if other.value <= 0.0:
            continue
        if asked.load == other.load:
            yield like(other, near=1.12, sure=1.38, words=place(other))
        elif asked.channel == other.channel and asked.load and other.load:
            yield _into_another_load(asked, other)


def _into_another_load(asked: Asked, other: Result) -> Plausible:
    """A heavier load pulls the level down, little or much, and never up."""
    told = f"the {format_estimate(other.measure, 'V')} {place(other)}"
    if require(asked.load or "", "ohm") < require(other.load or "", "ohm"):
        return by_ratio(other.value * 0.93, (0.75, 1.12), (0.27, 1.23), told)
    return by_ratio(other.value * 1.07, (0.9, 1.33), (0.82, 3.5), told)


def _here(asked: Asked, name: str) -> Result | None:
    return asked.reading(name, step=asked.step, channel=asked.channel, load=asked.load)
