"""A sweep's reference that moved, and single points off the line: take them again."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import SURE
from stepwise.judge.flags.sweep_points import point_hertz, sweep_rows
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value

_SEEN = 0.25
"""[dB] Half of the finest step read on a usual decibel scale: less cannot be told from none."""
_SLIP = 1.0
"""[dB] Two steps of a usual decibel scale: one step is rounding."""
_SPOILS = 1.0
"""[dB] From here on the drift is as large as the -1 dB points that rest on it."""


def find(findings: Findings) -> Iterator[Flag]:
    """Drift of the reference; readings that the rest of the row cannot explain."""
    for drift in findings.named("reference_drift"):
        flag = _drift(drift, findings)
        if flag is not None:
            yield flag
    groups: dict[tuple[str, str | None], list[Result]] = {}
    outliers = list(findings.named("outlier"))
    outermost = {id(row.points[at][1]) for row in sweep_rows(findings) for at in (0, -1)}
    for outlier in outliers:
        if abs(outlier.value) < _SLIP or _repeats(outlier, outliers):
            continue
        # An end that falls steeper than the model looks the same as an odd outermost point.
        if id(_level_of(outlier, findings)) not in outermost:
            groups.setdefault((outlier.step, outlier.channel), []).append(outlier)
    for group in groups.values():
        yield _out_of_line(sorted(group, key=lambda each: -abs(each.value)), findings)


def _repeats(outlier: Result, outliers: list[Result]) -> bool:
    """Whether the other channel shows it too: a shape does that, a misreading does not."""
    return any(
        other.point == outlier.point
        and other.channel != outlier.channel
        and other.value * outlier.value > 0.0
        for other in outliers
    )


def _drift(drift: Result, findings: Findings) -> Flag | None:
    spread = SURE * drift.measure.standard_uncertainty
    judged = drift.judgement.limit is not None
    beyond = abs(drift.value) > _SEEN + spread
    if not (drift.judgement.verdict is Verdict.OUT_OF_SPEC if judged else beyond):
        return None
    first, again = (
        findings.first(name, step=drift.step, channel=drift.channel)
        for name in ("reference", "reference_again")
    )
    spoils = abs(drift.value) > _SPOILS + spread
    return Flag(
        name="reference-drift",
        severity=Severity.WRONG if spoils else Severity.LOOK,
        step=drift.step,
        channel=drift.channel,
        load=drift.load,
        says=f"The reference is {format_value(abs(drift.value), 'dB', digits=2)} "
        f"{'lower' if drift.value < 0 else 'higher'} at the end of the sweep than at its start"
        f"{evidence.channel_words(drift)}: every level between may be off by that.",
        evidence=(
            evidence.of(drift),
            *(evidence.of(each) for each in (first, again) if each is not None),
            *evidence.limit_of(drift),
        ),
        likely=(
            "The oscillator was touched, or drifts as it warms up",
            "The two were read on different ranges",
            "The board's gain changes as it heats: look at the offset and the idle current",
        ),
        next_try="Take the last reference again. If it stays, set the level afresh and take the "
        "sweep again from the first point that looks odd.",
        keys=evidence.keys_of(again, first) or drift.basis,
    )


def _out_of_line(outliers: list[Result], findings: Findings) -> Flag:
    worst = outliers[0]
    levels = [_level_of(outlier, findings) for outlier in outliers]
    where = ", ".join(
        format_value(hertz, "Hz") for each in outliers if (hertz := point_hertz(each)) is not None
    )
    low = worst.value < 0
    shape = (
        "A real notch, as of a resonance or a tuned circuit in the output or on the input"
        if low
        else "A real, narrow peak, as of a resonance"
    )
    return Flag(
        name="point-out-of-line",
        severity=Severity.LOOK,
        step=worst.step,
        channel=worst.channel,
        load=worst.load,
        says=f"The level at {where} is {format_value(abs(worst.value), 'dB', digits=2)} "
        f"{'below' if low else 'above'} the line of the other points"
        f"{evidence.channel_words(worst)}.",
        evidence=(
            *(evidence.of(level) for level in levels if level is not None),
            *(
                evidence.of_value(f"Off the line, {each.point}", each.value, "dB")
                for each in outliers
            ),
        ),
        likely=(
            "Misread, a sign left out, or another range than for its neighbours",
            "The oscillator was on another frequency",
            shape,
        ),
        next_try="Take that point again, naming the range. If it stays, read a little below and "
        "a little above it.",
        keys=evidence.keys_of(*levels) or worst.basis,
    )


def _level_of(outlier: Result, findings: Findings) -> Result | None:
    return findings.first(
        "level_db", step=outlier.step, channel=outlier.channel, point=outlier.point
    )
