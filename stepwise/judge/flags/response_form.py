"""Form of a response: ends that are too steep, humps and notches."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import difference, surely_above, surely_below
from stepwise.judge.flags.sweep_points import SweepRow, board_rows
from stepwise.quantities import format_value

_STEEP = -8.0
"""[dB per octave] One pole never falls faster than 6.02; two steps of a decibel scale read to a
half over half an octave are the rest."""
_HUMP = 1.0
"""[dB] Two steps of a usual decibel scale; as the peak of a second-order end it stands for a
damping ratio of 0.52 and 15 % of overshoot (second-order response)."""
_HIGH_HUMP = 3.0
"""[dB] A damping ratio of 0.38, overshoot of 27 %: a loop without the 45 degrees of phase margin
that textbooks ask for."""
_DEPTH = 1.0
"""[dB] Two steps of a usual decibel scale."""
_WIDEST = 4
"""Points that a notch may be wide; a wider dip is a slope of the whole."""


def find(findings: Findings) -> Iterator[Flag]:
    """Slopes, humps, notches of every sweep of an amplifier."""
    for row in board_rows(findings):
        yield from _slopes(row, findings)
        yield from _highest_hump(row, findings)
        yield from _notch(row)


def _slopes(row: SweepRow, findings: Findings) -> Iterator[Flag]:
    for side, outermost in (("low", row.points[0][1]), ("high", row.points[-1][1])):
        slope = findings.first(f"slope_{side}", step=row.step, channel=row.channel)
        if slope is not None and surely_below(slope.measure, _STEEP):
            yield _steep(slope, side, outermost, findings)


def _highest_hump(row: SweepRow, findings: Findings) -> Iterator[Flag]:
    peaks = findings.named("peak_db", step=row.step, channel=row.channel)
    highest = max(peaks, key=lambda peak: peak.value, default=None)
    if highest is not None and surely_above(highest.measure, _HUMP):
        yield _hump(highest, findings)


def _steep(slope: Result, side: str, outermost: Result, findings: Findings) -> Flag:
    beside = evidence.beside(
        slope, findings, f"corner_{side}", f"order_{side}", f"q_{side}", f"minus_3db_{side}"
    )
    low = side == "low"
    return Flag(
        name=f"roll-off-steep-{side}",
        severity=Severity.LOOK,
        step=slope.step,
        channel=slope.channel,
        load=slope.load,
        says=f"The {side} end falls by {format_value(abs(slope.value), 'dB', digits=2)} an octave"
        f"{evidence.channel_words(slope)}: more than one "
        f"{'capacitor' if low else 'pole'} can make.",
        evidence=(evidence.of(slope), *map(evidence.of, beside)),
        likely=(
            "Two coupling capacitors, or one and the feedback's, begin at the same place",
            "The oscillator falls away besides",
            "The outermost point was read on another range",
        )
        if low
        else (
            "Two poles lie together: input filter and loop, or the output network",
            "The meter's bandwidth ends besides",
            "The level is so high that the stage slews: it falls faster as it goes up",
        ),
        next_try="Take the outermost point again; then read the oscillator's own level there.",
        keys=evidence.keys_of(outermost, slope),
    )


def _hump(peak: Result, findings: Findings) -> Flag:
    at_peak = findings.named(
        "peak_frequency", step=peak.step, channel=peak.channel, point=peak.point
    )
    where = [*at_peak, *evidence.beside(peak, findings, "q_high", "q_low")]
    hertz = next((each.value for each in where if each.name == "peak_frequency"), None)
    at = f" at {format_value(hertz, 'Hz', digits=2)}" if hertz is not None else ""
    low = hertz is not None and hertz < 200.0
    return Flag(
        name="response-hump",
        severity=Severity.WRONG if surely_above(peak.measure, _HIGH_HUMP) else Severity.LOOK,
        step=peak.step,
        channel=peak.channel,
        load=peak.load,
        says=f"The response has a hump of {evidence.shown(peak)}{at}"
        f"{evidence.channel_words(peak)}.",
        evidence=(evidence.of(peak), *map(evidence.of, where)),
        likely=(
            "Two capacitors in the signal path and its feedback resonate against one another",
            "A tone control or a bass boost is not at its middle",
            "The points there were read on another range",
        )
        if low
        else (
            "The feedback or compensation capacitor is missing or of the wrong value",
            "The output inductor resonates with a capacitor: is one still across the load?",
            "The points there were read on another range",
        ),
        next_try="Take the highest point again, naming the range. If it stays, look at a 10 kHz "
        "square wave: the same fault overshoots there."
        if not low
        else "Take the highest point again, naming the range; then see that all controls stand in "
        "the middle.",
        keys=peak.basis,
    )


def _notch(row: SweepRow) -> Iterator[Flag]:
    """Two or more neighbouring points that lie below the points on both their sides."""
    for start in range(1, len(row.points) - 2):
        for width in range(2, _WIDEST + 1):
            end = start + width
            if end < len(row.points) and _is_notch(row, start, end):
                yield _notch_flag(row, [level for _, level in row.points[start:end]])
                return


def _is_notch(row: SweepRow, start: int, end: int) -> bool:
    before, after = row.points[start - 1][1], row.points[end][1]
    lower_side = before if before.value <= after.value else after
    # by the first point alone, because this is asked of every stretch of every sweep
    if row.points[start][1].value > lower_side.value - _DEPTH:
        return False
    dip = [level for _, level in row.points[start:end]]
    return all(surely_above(difference(lower_side.measure, level.measure), _DEPTH) for level in dip)


def _notch_flag(row: SweepRow, dip: list[Result]) -> Flag:
    deepest = min(dip, key=lambda level: level.value)
    return Flag(
        name="response-notch",
        severity=Severity.LOOK,
        step=row.step,
        channel=row.channel,
        load=None,
        says=f"The response has a notch{evidence.channel_words(deepest)}: the points on both sides "
        f"of “{deepest.label}” stand higher.",
        evidence=tuple(map(evidence.of, dip)),
        likely=(
            "A resonance: an inductor and a capacitor of the output or of an input filter",
            "A tone control is not at its middle",
            "These points were read on another range",
        ),
        next_try="Take the deepest point again, naming the range. If it stays, read between the "
        "points to find its bottom.",
        keys=evidence.keys_of(deepest, *dip),
    )
