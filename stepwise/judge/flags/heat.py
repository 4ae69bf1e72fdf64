"""Heat: too hot to hold, and places that will be."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.verdict import Verdict

_TOO_HOT = 60.0
"""[C] Too hot to hold is above about 60 degrees: common practice, no source."""
_DANGEROUS = 90.0
"""[C] Bare metal here burns in well under a second (ISO 13732-1 thresholds, from memory)."""


def find(findings: Findings) -> Iterator[Flag]:
    """A place above its limit, or above what a hand can hold where it has none."""
    worst: dict[tuple[str, str | None, str], Result] = {}
    for name in ("temperature", "final_temperature"):
        for result in findings.named(name):
            if _is_too_hot(result):
                place = (result.point or "").split(" at ")[0]
                spot = (result.step, result.channel, place)
                if spot not in worst or result.value > worst[spot].value:
                    worst[spot] = result
    hottest: dict[tuple[str, str | None], Result] = {}
    for (step, channel, _), result in worst.items():
        group = (step, channel)
        if group not in hottest or result.value > hottest[group].value:
            hottest[group] = result
    for (step, channel), result in hottest.items():
        others = [
            each
            for (s, c, _), each in worst.items()
            if (s, c) == (step, channel) and each is not result
        ]
        yield _flag(result, others)


def _is_too_hot(result: Result) -> bool:
    if result.judgement.limit is not None:
        return result.judgement.verdict is Verdict.OUT_OF_SPEC
    return result.value > _TOO_HOT


def _flag(result: Result, others: list[Result]) -> Flag:
    expected = result.name == "final_temperature"
    return Flag(
        name="too-hot",
        severity=Severity.STOP if result.value >= _DANGEROUS and not expected else Severity.WRONG,
        step=result.step,
        channel=result.channel,
        load=result.load,
        says=f"{result.label} {'will be' if expected else 'is'} too hot.",
        evidence=(evidence.of(result), evidence.edge(result), *map(evidence.of, others)),
        likely=(
            "No paste, a loose screw or a burr between device and heatsink",
            "Idle current set too high, or an oscillation that no signal explains",
            "Heatsink too small for the claimed power, or the fan does not turn",
        ),
        next_try="Tone off, then power off. When cool, check screws and paste, and read the idle "
        "current again from cold.",
        keys=result.basis,
    )
