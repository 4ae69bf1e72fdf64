"""Channels: two that should be alike and are not."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value

_APART_DB = 0.5
"""[dB] Two channels of one board agree better than this: common practice, no source."""
_SURE = 2.0
"""A difference counts beyond this many standard uncertainties."""


def find(findings: Findings) -> Iterator[Flag]:
    """Clean level or gain that differs from one channel to the other."""
    for balance in findings.named("channel_balance"):
        if _is_apart(balance):
            yield _flag(balance, "clean level", findings)
    gains = list(findings.named("gain"))
    for first, second in pairwise(gains):
        apart = second.value - first.value
        doubt = (
            first.measure.standard_uncertainty**2 + second.measure.standard_uncertainty**2
        ) ** 0.5
        if first.channel != second.channel and abs(apart) > _APART_DB + _SURE * doubt:
            yield _gain_flag(first, second, apart)


def _is_apart(balance: Result) -> bool:
    if balance.judgement.limit is not None:
        return balance.judgement.verdict is Verdict.OUT_OF_SPEC
    return abs(balance.value) > _APART_DB + _SURE * balance.measure.standard_uncertainty


_CAUSES = (
    "One channel clips early: a weak device, a wrong resistor, one rail low",
    "The level control or the feedback of one channel is off",
    "Read on different ranges, or with the load leads changed over",
)


def _flag(balance: Result, what: str, findings: Findings) -> Flag:
    levels = [findings.first("level", step=balance.step, load=balance.load)]
    return Flag(
        name="channel-mismatch",
        severity=Severity.WRONG,
        step=balance.step,
        channel=balance.channel,
        load=balance.load,
        says=f"The channels differ by {format_value(abs(balance.value), 'dB', digits=2)} in "
        f"{what}.",
        evidence=(evidence.of(balance), *(evidence.of(each) for each in levels if each)),
        likely=_CAUSES,
        next_try="Change the two inputs over and read again: if the difference moves, it is in "
        "the source; if it stays, it is in the board.",
        keys=balance.basis,
    )


def _gain_flag(first: Result, second: Result, apart: float) -> Flag:
    return Flag(
        name="channel-mismatch",
        severity=Severity.LOOK,
        step=second.step,
        channel=second.channel,
        load=second.load,
        says=f"The channels differ by {format_value(abs(apart), 'dB', digits=2)} in gain.",
        evidence=(
            Evidence(f"Gain, {first.channel}", evidence.of(first).value),
            Evidence(f"Gain, {second.channel}", evidence.of(second).value),
        ),
        likely=_CAUSES[1:],
        next_try="Change the two inputs over and read again: if the difference moves, it is in "
        "the source; if it stays, it is in the board.",
        keys=second.basis,
    )
