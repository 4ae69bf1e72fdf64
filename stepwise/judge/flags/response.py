"""Response: an early roll-off at either end, its likely cause and cure."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value

_LOW_CORNER = 20.0
"""[Hz] Where a step gives no limit, a low end is early from here on: the lower edge of the
band that power amplifiers are rated for (16 CFR 432)."""
_HIGH_CORNER = 20_000.0
"""[Hz] Likewise, the upper edge of that band."""


def find(findings: Findings) -> Iterator[Flag]:
    """One flag for each end of each sweep that falls away too soon."""
    for low in findings.named("minus_3db_low"):
        if _is_early(low, low.value > _LOW_CORNER):
            yield _low_end(low, findings)
    for high in findings.named("minus_3db_high"):
        if _is_early(high, high.value < _HIGH_CORNER):
            yield _high_end(high, findings)


def _is_early(result: Result, beyond_band: bool) -> bool:
    if result.judgement.limit is not None:
        return result.judgement.verdict is Verdict.OUT_OF_SPEC
    return beyond_band


def _beside(result: Result, findings: Findings, *names: str) -> list[Result]:
    where = {"step": result.step, "channel": result.channel, "load": result.load}
    found = (findings.first(name, **where) for name in names)
    return [each for each in found if each is not None]


def _low_end(low: Result, findings: Findings) -> Flag:
    beside = _beside(low, findings, "corner_low", "coupling_capacitance", "cure_capacitance")
    cure = next((each for each in beside if each.name == "cure_capacitance"), None)
    implied = next((each for each in beside if each.name == "coupling_capacitance"), None)
    capacitor = (
        f"Coupling capacitor too small: it acts like {format_value(implied.value, 'F', digits=2)}"
        if implied is not None
        else "Coupling capacitor too small for the input resistance"
    )
    remedy = f" with {format_value(cure.value, 'F')}" if cure is not None else ""
    return Flag(
        name="early-roll-off-low",
        severity=Severity.WRONG,
        step=low.step,
        channel=low.channel,
        load=low.load,
        says=f"The low end falls away early{evidence.channel_words(low)}: -3 dB already at "
        f"{format_value(low.value, 'Hz', digits=2)}.",
        evidence=(evidence.of(low), *_limit_of(low), *map(evidence.of, beside)),
        likely=(
            capacitor,
            "Capacitor in the feedback path too small",
            "The oscillator or the meter falls away itself",
        ),
        next_try=f"Bridge the coupling capacitor{remedy} and read the lowest frequency again; "
        "then read the oscillator's own level there.",
        keys=low.basis,
    )


def _high_end(high: Result, findings: Findings) -> Flag:
    beside = _beside(high, findings, "corner_high")
    return Flag(
        name="early-roll-off-high",
        severity=Severity.WRONG,
        step=high.step,
        channel=high.channel,
        load=high.load,
        says=f"The high end falls away early{evidence.channel_words(high)}: -3 dB already at "
        f"{format_value(high.value, 'Hz', digits=2)}.",
        evidence=(evidence.of(high), *_limit_of(high), *map(evidence.of, beside)),
        likely=(
            "Input filter or compensation capacitor too large",
            "Long screened lead on a source of high resistance",
            "The meter's own bandwidth ends here",
        ),
        next_try="Read the oscillator's own level at the same frequency on the same meter; then "
        "read the output again at a tenth of the level, to tell bandwidth from slewing.",
        keys=high.basis,
    )


def _limit_of(result: Result) -> tuple[Evidence, ...]:
    return (evidence.edge(result),) if result.judgement.limit is not None else ()
