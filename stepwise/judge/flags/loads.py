"""Contradictions between two loads: their levels and the sags that they cause."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import MAINS_DRIFT, difference, surely_above
from stepwise.quantities import with_signs

_UNCHANGED = 0.01
"""Share by which oscillator and output move while a load is changed [1]: 0.1 dB, common
practice, no source."""
_MORE_CURRENT = 1.5
"""Ratio of two currents [1] from which the sags must tell them apart."""


def find(findings: Findings) -> Iterator[Flag]:
    """Levels into two loads of one channel, and the sag that each of them makes."""
    yield from _swapped(findings)
    yield from _same_load(findings)


def _ohms(load: str | None) -> float | None:
    """Nominal resistance [ohm] of a load's label."""
    return float(load.split()[0]) if load else None


def _swapped(findings: Findings) -> Iterator[Flag]:
    """Clean levels of one channel into two loads: the lower one never has more volts.

    Its rails sag more and the stage drops more; what is left is the drift of the mains.
    """
    by_pass: dict[tuple[str, str | None], list[tuple[float, Result]]] = {}
    for level in findings.named("level"):
        ohms = _ohms(level.load)
        if ohms is not None:
            by_pass.setdefault((level.step, level.channel), []).append((ohms, level))
    for levels in by_pass.values():
        ordered = [level for _, level in sorted(levels, key=lambda each: -each[0])]
        for high, low in pairwise(ordered):
            rise = difference(low.measure, high.measure)
            if surely_above(rise, MAINS_DRIFT * high.value):
                yield _more_volts(high, low)
                break
    for low in findings.named("level_4"):
        opened = findings.first("level_8", step=low.step, channel=low.channel)
        if opened is not None:
            rise = difference(low.measure, opened.measure)
            if surely_above(rise, _UNCHANGED * opened.value):
                yield _more_volts(opened, low)


def _same_load(findings: Findings) -> Iterator[Flag]:
    """Half the ohms take nearly twice the current: then the rails sag further.

    A rail charged in pulses falls by about the two-thirds power of its current (rectifier with
    source resistance), a battery by the first; a fall by less than its root is neither.
    """
    sags: dict[tuple[str, str | None], list[tuple[float, Result]]] = {}
    for sag in findings.named("sag", point="rail_plus"):
        ohms = _ohms(sag.load)
        if ohms is not None:
            sags.setdefault((sag.step, sag.channel), []).append((ohms, sag))
    for group in sags.values():
        ordered = sorted(group, key=lambda each: -each[0])
        for high, low in pairwise(ordered):
            flag = _alike(high, low, findings)
            if flag is not None:
                yield flag


def _alike(
    high: tuple[float, Result], low: tuple[float, Result], findings: Findings
) -> Flag | None:
    levels = [
        findings.first("level", step=sag.step, channel=sag.channel, load=sag.load)
        for _, sag in (high, low)
    ]
    before, after = levels
    if before is None or after is None or not before.value / high[0] > 0.0:
        return None
    currents = (after.value / low[0]) / (before.value / high[0])
    if not _MORE_CURRENT <= currents < math.inf:
        return None
    short = difference(high[1].measure.scaled(math.sqrt(currents)), low[1].measure)
    # What the mains moves from pass to pass is part of the sags' uncertainty.
    if not surely_above(short, 0.0):
        return None
    return Flag(
        name="same-load-twice",
        severity=Severity.WRONG,
        step=low[1].step,
        channel=low[1].channel,
        load=None,
        says=f"The rails sag alike into {with_signs(high[1].load)} and "
        f"{with_signs(low[1].load)}{evidence.channel_words(low[1])}, as one "
        "load does and two do not.",
        evidence=(
            evidence.here(high[1]),
            evidence.here(low[1]),
            evidence.here(before),
            evidence.here(after),
            evidence.of_value("Current, second over first", currents, ""),
        ),
        likely=(
            "The load was not changed between the two passes",
            "One of the loads is not what is marked on it",
            "The rail was read with the tone off in one of the passes",
        ),
        next_try="Tone off: read both loads with the ohmmeter at the clips. Then take the level "
        "of the pass that had the wrong one.",
        keys=evidence.keys_of(before, after),
    )


def _more_volts(high: Result, low: Result) -> Flag:
    far = low.value > 1.5 * high.value
    swapped = "The two loads were changed over, or one is not what is marked on it"
    range_slip = "One of the two levels was read on another range"
    return Flag(
        name="more-volts-into-less",
        severity=Severity.WRONG,
        step=low.step,
        channel=low.channel,
        load=None,
        says=f"The lower load has more volts across it{evidence.channel_words(low)}: "
        f"{evidence.shown(low)} against "
        f"{evidence.shown(high)}; a supply gives the lower one less.",
        evidence=(evidence.here(low), evidence.here(high)),
        likely=(
            *((range_slip, swapped) if far else (swapped, range_slip)),
            "The higher load was read before the tops had quite flattened",
        ),
        next_try="Tone off: read both loads with the ohmmeter. Then take the level into the lower "
        "one again, and the other.",
        keys=evidence.keys_of(low, high),
    )
