"""Claims: what the seller says, held against what was read, at the distortion he means."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import surely_below
from stepwise.judge.limit import Limit
from stepwise.judge.verdict import SURE_OUTSIDE, conformance_probability
from stepwise.quantities import Uncertain, format_value, with_signs

_WHOLE = Limit(100.0, None, "%", "at least 100 %")
_TEN_OVER_CLEAN = 1.28776
"""Power at 10 % over power at the onset of clipping [1], symmetrical hard clipping on stiff
rails (clipped-sine mathematics); a supply that sags gives less."""


def find(findings: Findings) -> Iterator[Flag]:
    """Claims that are not met, or are so only at 10 % or into one load; claims without load."""
    judged = [(ratio, _standing(ratio, findings)) for ratio in findings.named("claim_ratio")]
    for ratio, standing in judged:
        if standing == "missed":
            yield _missed(ratio, findings)
        elif standing == "loud only":
            yield _loud_only(ratio, findings)
    yield from _unnamed(judged, findings)


def _end(result: Result) -> str:
    """How facts about a load end: "_8"."""
    return "_" + result.load.split()[0].replace(".", "_") if result.load else "_any"


def _claim_fact(what: str, result: Result, findings: Findings) -> float | None:
    """What the claim for this load says; the claim that names no load where none names it."""
    facts = findings.facts
    if f"claimed_power{_end(result)}" in facts:
        return facts.get(f"{what}{_end(result)}")
    return facts.get(f"{what}_any")


def _standing(ratio: Result, findings: Findings) -> str:
    """How it stands: met, missed, loud only, or open while a reading may still decide it."""
    if not _misses(ratio.measure):
        return "met"
    (level,) = evidence.beside(ratio, findings, "level") or (None,)
    if level is not None and f"{level.key}_at_ten_percent" in findings.awaited:
        return "open"
    loud = next(iter(evidence.beside(ratio, findings, "power_at_ten_percent")), None)
    if loud is None:
        return _without_loud(ratio, findings)
    claimed = _claim_fact("claimed_power", ratio, findings) or _claimed(ratio, findings)
    if claimed is None or _misses(loud.measure.scaled(100.0 / claimed)):
        return "missed"
    return "loud only"


def _is_clipped(ratio: Result, findings: Findings) -> bool:
    """Whether it is a claim about the power at 10 %."""
    return _claim_fact("claimed_when_clipped", ratio, findings) is not None


def _without_loud(ratio: Result, findings: Findings) -> str:
    """A claim at 10 % is not refuted by clean power until even 10 % could not reach it."""
    if not _is_clipped(ratio, findings):
        return "missed"
    return "missed" if surely_below(ratio.measure.scaled(_TEN_OVER_CLEAN), 100.0) else "open"


def _misses(share: Uncertain) -> bool:
    return conformance_probability(share, _WHOLE) <= SURE_OUTSIDE


def _claimed(ratio: Result, findings: Findings) -> float | None:
    """The claim [W], from the share of it that the clean power is."""
    power = next(iter(evidence.beside(ratio, findings, "power")), None)
    return power.value * 100.0 / ratio.value if power is not None and ratio.value > 0 else None


def _numbers(ratio: Result, findings: Findings) -> tuple[Evidence, ...]:
    beside = evidence.beside(ratio, findings, "power", "power_at_ten_percent", "ceiling")
    claimed = _claim_fact("claimed_power", ratio, findings) or _claimed(ratio, findings)
    distortion = _claim_fact("claimed_distortion", ratio, findings)
    at = f" at {format_value(distortion, '%')}" if distortion is not None else ""
    said = (Evidence("Claim", f"{format_value(claimed, 'W')}{at}"),) if claimed is not None else ()
    return (*map(evidence.of, beside), *said, evidence.of(ratio))


def _missed(ratio: Result, findings: Findings) -> Flag:
    supply = "The rails under load do not allow it: transformer or reservoir too small"
    stage = "The output stage loses too much swing, or limits its current"
    seller = "The claim is of another supply, of both channels together, or of a moment only"
    ends = _supply_ends(ratio, findings)
    ten = ("The claim was made at 10 % distortion",) if _says_nothing(ratio, findings) else ()
    return Flag(
        name="claim-not-met",
        severity=Severity.WRONG,
        step=ratio.step,
        channel=ratio.channel,
        load=ratio.load,
        says=f"Only {evidence.shown(ratio)} of the claimed power is there "
        f"into {with_signs(ratio.load) or 'the load'}{evidence.channel_words(ratio)}.",
        evidence=_numbers(ratio, findings),
        likely=(*((supply, stage) if ends else (stage, supply)), *ten, seller),
        next_try=_again(ratio, findings),
        keys=ratio.basis,
    )


def _says_nothing(ratio: Result, findings: Findings) -> bool:
    """Whether a claim leaves its distortion open, and the power at 10 % was not read."""
    tried = evidence.beside(ratio, findings, "power_at_ten_percent")
    return not tried and _claim_fact("claimed_distortion", ratio, findings) is None


def _again(ratio: Result, findings: Findings) -> str:
    """What to read once more: at 10 % only where that tells anything of this claim."""
    if _is_clipped(ratio, findings):
        return "Take the level once more where the tops are well flattened."
    again = "Take the level once more with the tops just round."
    if not _says_nothing(ratio, findings):
        return again
    if f"ten_percent/{ratio.step}" not in findings.facts:
        return (
            f"{again} This procedure does not ask for the level at 10 %: one that does tells "
            "whether the claim holds there."
        )
    return (
        f"{again} Then read it where they are well flattened, to see whether the claim holds there."
    )


def _supply_ends(ratio: Result, findings: Findings) -> bool:
    """Whether not even a stage without any loss could meet the claim on these rails."""
    ceiling = next(iter(evidence.beside(ratio, findings, "ceiling")), None)
    claimed = _claim_fact("claimed_power", ratio, findings) or _claimed(ratio, findings)
    return ceiling is not None and claimed is not None and ceiling.value < claimed


def _loud_only(ratio: Result, findings: Findings) -> Flag:
    distortion = _claim_fact("claimed_distortion", ratio, findings)
    says_less = distortion is not None and not _is_clipped(ratio, findings)
    how = f"though {format_value(distortion, '%')} was claimed" if says_less and distortion else (
        "and the claim does not say so"
    )  # fmt: skip
    return Flag(
        name="claim-only-at-ten-percent",
        severity=Severity.WRONG if says_less else Severity.LOOK,
        step=ratio.step,
        channel=ratio.channel,
        load=ratio.load,
        says="The claimed power is there only at 10 % distortion, "
        f"{how}: {with_signs(ratio.load) or 'the load'}{evidence.channel_words(ratio)}, "
        f"clean it is {evidence.shown(ratio)} of it.",
        evidence=_numbers(ratio, findings),
        likely=(
            "The claim was made well into clipping, as cheap boards' claims are",
            "The clean level was read too early, with the tops still round",
            "The supply here is weaker than the seller's",
        ),
        next_try="Take the clean level once more. If it stays, count on the clean power.",
        keys=ratio.basis,
    )


def _unnamed(judged: list[tuple[Result, str]], findings: Findings) -> Iterator[Flag]:
    """A claim that names no load: which of the loads it holds for."""
    if "claimed_power_any" not in findings.facts:
        return
    at = [
        (ratio, standing)
        for ratio, standing in judged
        if f"claimed_power{_end(ratio)}" not in findings.facts and standing != "open"
    ]
    if not at:
        return
    met = {ratio.load for ratio, standing in at if standing == "met"}
    missed = {ratio.load for ratio, standing in at if standing != "met"} - met
    first = at[0][0]
    names = " and ".join(with_signs(load) for load in sorted(filter(None, met)))
    holds_at_some = bool(met and missed)
    yield Flag(
        name="claim-only-at-one-load" if holds_at_some else "claim-names-no-load",
        severity=Severity.LOOK if holds_at_some else Severity.NOTE,
        step=first.step,
        channel=None,
        load=None,
        says=f"The claim names no load, and holds only into {names}."
        if holds_at_some
        else "The claim names no load: watts without ohms say little.",
        evidence=(
            evidence.of_value("Claim", findings.facts["claimed_power_any"], "W"),
            *(evidence.here(ratio) for ratio, _ in at),
        ),
        likely=(
            "The seller gives the figure of the load that looks best",
            "The figure is that of the parts' data sheet, not of this board",
        ),
        next_try="Write the load beside the figure wherever you pass it on.",
        keys=evidence.keys_of(*(ratio for ratio, _ in at)),
    )
