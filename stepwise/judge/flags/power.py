"""Power and supply: claims, and rails that give way."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.limit import Limit
from stepwise.judge.verdict import Verdict, conformance_probability
from stepwise.quantities import format_value

_WHOLE = Limit(100.0, None, "%", "at least 100 %")
_MUCH_SAG = 20.0
"""[%] Above this a supply is at its end, where no limit is given: common practice, no source."""


def find(findings: Findings) -> Iterator[Flag]:
    """Claims that are not met, and sag."""
    for ratio in findings.named("claim_ratio"):
        if conformance_probability(ratio.measure, _WHOLE) <= 0.05:
            yield _claim(ratio, findings)
    for group in _sag_groups(findings):
        yield _sag(group)


def _claim(ratio: Result, findings: Findings) -> Flag:
    where = {"step": ratio.step, "channel": ratio.channel, "load": ratio.load}
    beside = [
        result
        for name in ("power", "power_at_ten_percent", "ceiling")
        if (result := findings.first(name, **where)) is not None
    ]
    ceiling = findings.first("ceiling", **where)
    power = findings.first("power", **where)
    supply_ends = (
        ceiling is not None
        and power is not None
        and ratio.value > 0
        and ceiling.value < power.value * 100.0 / ratio.value
    )
    supply = "The rails under load do not allow it: transformer or reservoir too small"
    causes = (
        "The claim was made at 10 % distortion, or for both channels together",
        "Output stage loses too much swing, or limits its current",
    )
    return Flag(
        name="claim-not-met",
        severity=Severity.WRONG,
        step=ratio.step,
        channel=ratio.channel,
        load=ratio.load,
        says=f"Only {format_value(ratio.value, '%', digits=2)} of the claimed power is there "
        f"into {(ratio.load or 'the load').replace('ohm', 'Ω')}{evidence.channel_words(ratio)}.",
        evidence=(*map(evidence.of, beside), evidence.of(ratio)),
        likely=(supply, *causes) if supply_ends else (*causes, supply),
        next_try="Read the level once more with the tops just touching; then read it where they "
        "are well flattened, and see whether the claim holds only there.",
        keys=ratio.basis,
    )


def _sag_groups(findings: Findings) -> Iterator[list[Result]]:
    """Sags that are too much, gathered by pass: one flag for one supply giving way."""
    groups: dict[tuple[str, str | None, str | None], list[Result]] = {}
    for result in findings.named("sag"):
        limited = result.judgement.limit is not None
        too_much = (
            result.judgement.verdict is Verdict.OUT_OF_SPEC if limited else result.value > _MUCH_SAG
        )
        if too_much:
            groups.setdefault((result.step, result.channel, result.load), []).append(result)
    yield from groups.values()


def _sag(group: list[Result]) -> Flag:
    worst = max(group, key=lambda result: result.value)
    return Flag(
        name="supply-sag",
        severity=Severity.LOOK,
        step=worst.step,
        channel=worst.channel,
        load=worst.load,
        says=f"The supply gives way by {format_value(worst.value, '%', digits=2)} under load"
        f"{evidence.channel_words(worst)}.",
        evidence=(*map(evidence.of, group), evidence.edge(worst)),
        likely=(
            "Transformer rated too low for this load",
            "Reservoir capacitors small, aged or dry",
            "Thin leads or a poor contact between transformer and board",
        ),
        next_try="Read the secondary with the tone on: if it sags as much as the rails, the "
        "transformer is the limit; if it does not, look at rectifier and reservoirs.",
        keys=worst.basis,
    )
