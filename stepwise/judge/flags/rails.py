"""Against physics: rails that do not follow from their winding, and supplies that rise."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import (
    difference,
    size,
    surely_above,
    surely_below,
)
from stepwise.quantities import Uncertain, format_value

_CREST = math.sqrt(2.0)
_ABOVE = 1.05
"""Peak over root 2 times RMS that mains and meter may make of it [1]: 2 % of drift between the
readings and 3 % of waveform, on which average and RMS meters differ. Common practice, no
source."""
_BELOW = 0.90
"""The same downwards: flattened mains (crest 1.35 for 1.41, 5 %), drift and the idle current's
own sag. Common practice, no source."""
_DIODES = 2.2
"""[V] Two silicon diodes in the path, as a bridge on a single winding has: 1.1 V each at most
(from memory); one path of a centre-tapped supply has one."""
_NAMES = ("rail_plus", "rail_minus")


def find(findings: Findings) -> Iterator[Flag]:
    """Rails against the secondary, idle and loaded; sags of the wrong sign."""
    yield from _against_secondary(findings)
    for sag in findings.named("sag"):
        # That the mains may have drifted up in between is part of its uncertainty.
        if surely_below(sag.measure, 0.0):
            yield _rises(sag)


def _against_secondary(findings: Findings) -> Iterator[Flag]:
    """The worst rail of a step on either side: one supply is one flag."""
    high: dict[str, tuple[float, Result, Result]] = {}
    low: dict[str, tuple[float, Result, Result]] = {}
    for name in _NAMES:
        for rail in findings.named(name):
            winding = _winding(rail, findings)
            if winding is None:
                continue
            ratio = abs(rail.value) / (_CREST * winding.value) if winding.value else math.inf
            if _is_above(rail, winding.measure) and ratio > high.get(rail.step, (0.0,))[0]:
                high[rail.step] = (ratio, rail, winding)
            if _is_below(rail, winding.measure) and ratio < low.get(rail.step, (math.inf,))[0]:
                low[rail.step] = (ratio, rail, winding)
    for _, rail, winding in high.values():
        yield _above(rail, winding)
    for _, rail, winding in low.values():
        yield _below(rail, winding)


def _winding(rail: Result, findings: Findings) -> Result | None:
    """The secondary in the same state: with the same load on, or idle."""
    if rail.load is not None:
        return findings.first(
            "secondary_volts", step=rail.step, channel=rail.channel, load=rail.load
        )
    for winding in findings.named("secondary_volts", load=None):
        if winding.channel in (None, rail.channel):
            return winding
    return None


def _is_above(rail: Result, winding: Uncertain) -> bool:
    return surely_above(difference(size(rail.measure), winding.scaled(_CREST * _ABOVE)), 0.0)


def _is_below(rail: Result, winding: Uncertain) -> bool:
    # Under load it falls by rights; how far is the sag's business.
    lowest = winding.scaled(_CREST * _BELOW)
    return rail.load is None and surely_below(difference(size(rail.measure), lowest), -_DIODES)


def _numbers(rail: Result, winding: Result) -> tuple[Evidence, ...]:
    return (
        evidence.here(rail),
        evidence.here(winding),
        evidence.of_measure("Peak of the winding", winding.measure.scaled(_CREST), "V"),
    )


def _above(rail: Result, winding: Result) -> Flag:
    is_double = abs(rail.value) > 1.7 * _CREST * winding.value
    both = "Both rails together were read for one, or the two windings are in series"
    slip = "The secondary was read on the wrong range, or with a probe set to x10"
    return Flag(
        name="rails-above-secondary",
        severity=Severity.WRONG,
        step=rail.step,
        channel=None,
        load=rail.load,
        says=f"A rail of {evidence.height(rail)} cannot come from "
        f"{evidence.shown(winding)} RMS: one of the two readings is wrong.",
        evidence=_numbers(rail, winding),
        likely=(both, slip) if is_double else (slip, both),
        next_try="Take the secondary again, one winding to the centre tap, and say the range; "
        "then the rail, from the board's ground.",
        keys=evidence.keys_of(winding, rail),
    )


def _below(rail: Result, winding: Result) -> Flag:
    is_half = abs(rail.value) < 0.6 * _CREST * winding.value
    across = "The secondary was read across both windings, not to the centre tap"
    fault = (
        "A regulator or soft start between rectifier and rail",
        "A diode of the bridge open, so that only every other half wave charges the reservoir",
        "A leaky reservoir, or a stage that draws much at idle",
    )
    return Flag(
        name="rails-below-secondary",
        severity=Severity.LOOK,
        step=rail.step,
        channel=None,
        load=None,
        says=f"From {evidence.shown(winding)} RMS a rail should stand higher "
        f"than {evidence.height(rail)} at idle.",
        evidence=_numbers(rail, winding),
        likely=(across, *fault) if is_half else (*fault, across),
        next_try="Read the secondary once more from one end to the centre tap. If it stays, "
        "power off, discharge, and test the bridge with the diode range.",
        keys=evidence.keys_of(winding, rail),
    )


def _rises(sag: Result) -> Flag:
    loaded, idle = sag.basis[-1:], sag.basis[:-1]
    return Flag(
        name="sag-wrong-sign",
        severity=Severity.WRONG,
        step=sag.step,
        channel=sag.channel,
        load=sag.load,
        says=f"A supply does not rise by {format_value(-sag.value, '%', digits=2)} under load"
        f"{evidence.channel_words(sag)}.",
        evidence=(evidence.of(sag),),
        likely=(
            "One of the two was read on another range or at another point",
            "The idle reading was taken with the lamp still in the feed, or at low mains",
            "The tone was off when the loaded value was read",
        ),
        next_try="Tone on: take the loaded reading again; then tone off, and take the idle one.",
        keys=(*loaded, *idle),
    )
