"""Channels: two that should be alike and are not."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import (
    MAINS_DRIFT,
    SURE,
    difference,
    size,
    surely_above,
)
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value

_APART_DB = 0.5
"""[dB] Two channels of one board agree better than this: common practice, no source."""
_APART_CORNER = 1.5
"""Ratio of two corners [1] that two parts of 20 % tolerance at opposite ends make: 1.2 / 0.8
(IEC 60063, E6)."""
_CHANGE_OVER = (
    "Change the two inputs over and read again: if the difference moves, it is in the source; if "
    "it stays, it is in the board."
)


def find(findings: Findings) -> Iterator[Flag]:
    """Clean level, gain, corners and rails that differ from one channel to the other."""
    for balance in findings.named("channel_balance"):
        if _is_apart(balance):
            yield _level(balance, findings)
    for first, second in _channel_pairs(findings, "gain"):
        gap = difference(second.measure, first.measure)
        if abs(gap.value) > _APART_DB + SURE * gap.standard_uncertainty:
            yield _gain(first, second, abs(gap.value))
    for name in ("corner_low", "corner_high"):
        for first, second in _channel_pairs(findings, name):
            low, high = sorted((first, second), key=lambda each: each.value)
            gap = difference(high.measure, low.measure.scaled(_APART_CORNER))
            if low.value > 0.0 and surely_above(gap, 0.0):
                yield _response(high, low)
    yield from _rails(findings)


def _channel_pairs(findings: Findings, name: str) -> Iterator[tuple[Result, Result]]:
    """Neighbouring channels' results of that name in one step."""
    for first, second in pairwise(findings.named(name)):
        if first.step == second.step and first.channel != second.channel:
            yield first, second


def _is_apart(balance: Result) -> bool:
    if balance.judgement.limit is not None:
        return balance.judgement.verdict is Verdict.OUT_OF_SPEC
    return abs(balance.value) > _APART_DB + SURE * balance.measure.standard_uncertainty


def _level(balance: Result, findings: Findings) -> Flag:
    levels = list(findings.named("level", step=balance.step, load=balance.load))
    return Flag(
        name="channel-mismatch",
        severity=Severity.WRONG,
        step=balance.step,
        channel=balance.channel,
        load=balance.load,
        says=f"The channels differ by {format_value(abs(balance.value), 'dB', digits=2)} in clean "
        f"level{evidence.load_words(balance)}.",
        evidence=(
            evidence.of(balance),
            *map(evidence.here, levels),
            *evidence.limit_of(balance),
        ),
        likely=(
            "One channel clips early: a weak device, a wrong resistor, one rail low",
            "One of the two levels was read on another range",
            "The load or its leads were changed between the channels",
        ),
        next_try="Take the level of the lower channel again, tops just round, naming the range. "
        "If it stays, look which half of the wave flattens first.",
        keys=balance.basis,
    )


def _gain(first: Result, second: Result, apart: float) -> Flag:
    return Flag(
        name="channel-mismatch",
        severity=Severity.LOOK,
        step=second.step,
        channel=second.channel,
        load=second.load,
        says=f"The channels differ by {format_value(apart, 'dB', digits=2)} in gain.",
        evidence=(
            Evidence(f"Gain, {first.channel}", evidence.of(first).value),
            Evidence(f"Gain, {second.channel}", evidence.of(second).value),
        ),
        likely=(
            "The level control or the feedback resistor of one channel is off",
            "Read on different ranges, or the oscillator was touched between",
        ),
        next_try=_CHANGE_OVER,
        keys=evidence.keys_of(second, first),
    )


def _response(high: Result, low: Result) -> Flag:
    is_low_end = high.name == "corner_low"
    odd = high if is_low_end else low
    part = "coupling capacitor" if is_low_end else "input filter or compensation capacitor"
    return Flag(
        name="channel-response-differs",
        severity=Severity.LOOK,
        step=odd.step,
        channel=odd.channel,
        load=odd.load,
        says=f"The {'low' if is_low_end else 'high'} end of the two channels lies a factor of "
        f"{format_value(high.value / low.value, '', digits=2)} apart: more than the tolerance of "
        "their parts.",
        evidence=(evidence.here(high), evidence.here(low)),
        likely=(
            f"The {part} of the {odd.channel} channel has another value, or has aged",
            "One of the outer points of one sweep was read on another range",
            "One input lead is longer, or another one",
        ),
        next_try=f"Compare the {part}s of both channels, power off, by mark and by meter; then "
        "take the outermost point of the shorter sweep again.",
        keys=evidence.keys_of(odd)[:1] or odd.basis,
    )


def _rails(findings: Findings) -> Iterator[Flag]:
    """Both channels hang on one pair of rails: at idle they must be read alike."""
    for name in ("rail_plus", "rail_minus"):
        for first, second in _channel_pairs(findings, name):
            if first.load is not None or second.load is not None:
                continue
            gap = difference(size(second.measure), size(first.measure))
            allowed = MAINS_DRIFT * abs(first.value) + SURE * gap.standard_uncertainty
            # Channels with supplies of their own differ by their transformers' tolerance.
            if abs(gap.value) > 2.0 * allowed:
                yield _rail_flag(first, second)
                return


def _rail_flag(first: Result, second: Result) -> Flag:
    return Flag(
        name="channels-share-rails",
        severity=Severity.LOOK,
        step=second.step,
        channel=None,
        load=None,
        says=f"The same rail was read as {evidence.shown(first)} at the "
        f"{first.channel} channel and {evidence.shown(second)} at the "
        f"{second.channel}.",
        evidence=(evidence.here(first), evidence.here(second)),
        likely=(
            "One of the two was misread, or read at another point",
            "A fuse or a track between the channels is open, and one channel is fed through it",
            "The channels have supplies of their own that are not alike",
        ),
        next_try=f"Take the rail at the {second.channel} channel again; then at the "
        f"{first.channel}, common lead on the same ground.",
        keys=evidence.keys_of(second, first),
    )
