"""Worked bench examples for flags: results put together by hand, and what is to be seen in them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from stepwise.judge import Findings, Limit, Result, ToneSpan, judge
from stepwise.quantities import Uncertain


class Case(NamedTuple):
    """One flag: an example that it must be seen in, and one in which it must not."""

    source: str
    """Where the figures come from, outside the program."""
    seen: Findings
    quiet: Findings
    first_key: str | None = None
    """End of the key to take again first, where that matters."""


def result(
    name: str,
    value: float,
    unit: str = "V",
    *,
    u: float = 0.0,
    at: str = "quiescent/left/",
    point: str | None = None,
    limit: Limit | None = None,
    shared: str = "",
) -> Result:
    """A result at step/channel/load, with a standard uncertainty of its own or a shared one."""
    step, channel, load = at.split("/")
    key = f"{at}/{point or name}"
    measure = Uncertain(value, {shared or key: u} if u else {})
    return Result(
        step, channel or None, load or None, point or name, name, measure, unit,
        name.replace("_", " ").capitalize(), judge(measure, limit), key=key, basis=(key,),
    )  # fmt: skip


def computed(
    name: str,
    value: float,
    unit: str,
    *basis: str,
    u: float = 0.0,
    at: str = "clip/left/8 ohm",
    point: str | None = None,
    limit: Limit | None = None,
) -> Result:
    """A result that was worked out from readings of its pass, named by the ends of their keys."""
    step, channel, load = at.split("/")
    measure = Uncertain(value, {f"{at}/{name}/{point}": u} if u else {})
    keys = tuple(end if "/" in end else f"{at}/{end}" for end in basis)
    return Result(
        step, channel or None, load or None, point, name, measure, unit,
        name.replace("_", " ").capitalize(), judge(measure, limit), basis=keys,
    )  # fmt: skip


def findings(
    *results: Result,
    facts: Mapping[str, float] | None = None,
    tones: tuple[ToneSpan, ...] = (),
    awaited: tuple[str, ...] = (),
) -> Findings:
    """What a run has shown."""
    return Findings(tuple(results), facts or {}, tones, frozenset(awaited))


def at_most(high: float, unit: str) -> Limit:
    """An upper limit."""
    return Limit(None, high, unit, f"at most {high:g} {unit}")


def at_least(low: float, unit: str) -> Limit:
    """A lower limit."""
    return Limit(low, None, unit, f"at least {low:g} {unit}")


def within(width: float, unit: str) -> Limit:
    """A limit on both sides of zero."""
    return Limit(-width, width, unit, f"0 {unit} ± {width:g} {unit}")
