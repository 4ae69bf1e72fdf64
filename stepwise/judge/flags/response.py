"""Response: an early roll-off at either end, its likely cause and cure, and whose fault it is."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.slewing import slews_in_sweep
from stepwise.judge.flags.sure import surely_above, surely_below
from stepwise.judge.flags.sweep_points import board_rows, row_for
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value

_LOW_CORNER = 20.0
"""[Hz] Where a step gives no limit, a low end is early from here on: the lower edge of the
band that power amplifiers are rated for (16 CFR 432)."""
_HIGH_CORNER = 20_000.0
"""[Hz] Likewise, the upper edge of that band."""
_ALIKE = 0.1
"""Share within which two channels fall at one frequency [1]: parts of 10 % tolerance in each
would lie further apart as often as not; what both share lies together. Common practice."""
_FASTEST = 0.27
"""Rise time times -3 dB frequency that no usable response falls below (second-order step at a
damping ratio of 0.1)."""
_STRAY = (1e-10, 1e-8)
"""[F] Capacitance of a screened lead and an input filter: 0.1 nF to 10 nF, common practice, no
source."""


def find(findings: Findings) -> Iterator[Flag]:
    """One flag for each end of each sweep that falls away too soon."""
    for low in findings.named("minus_3db_low"):
        early = low.value > 0.0 and _is_early(low, surely_above(low.measure, _LOW_CORNER))
        if early and not findings.is_of_bench(low.step):
            yield _low_end(low, findings)
    for high in findings.named("minus_3db_high"):
        early = high.value > 0.0 and _is_early(high, surely_below(high.measure, _HIGH_CORNER))
        if early and not findings.is_of_bench(high.step):
            yield _high_end(high, findings)


def _is_early(result: Result, beyond_band: bool) -> bool:
    if result.judgement.limit is not None:
        return result.judgement.verdict is Verdict.OUT_OF_SPEC
    return beyond_band


def _bench_known(findings: Findings) -> bool:
    """Whether the bench's own response was taken off already."""
    return "bench_response" in findings.facts


def _shared(end: Result, findings: Findings) -> bool:
    """Whether another channel falls at the same frequency, within what parts differ by."""
    return any(
        other.channel != end.channel and abs(other.value / end.value - 1.0) < _ALIKE
        for other in findings.named(end.name, step=end.step)
    )


def _low_end(low: Result, findings: Findings) -> Flag:
    beside = evidence.beside(
        low, findings, "corner_low", "slope_low", "coupling_capacitance", "cure_capacitance"
    )
    by_name = {each.name: each for each in beside}
    implied, cure = by_name.get("coupling_capacitance"), by_name.get("cure_capacitance")
    capacitor = (
        f"Coupling capacitor too small: it acts like {format_value(implied.value, 'F', digits=2)}"
        if implied is not None
        else "Coupling capacitor too small for the input resistance"
    )
    feedback = "Capacitor in the feedback path too small"
    bench = "The oscillator or the meter falls away itself"
    board = (capacitor, feedback)
    flat = _tilt_says_flat(low, findings)
    if _bench_known(findings):
        likely: tuple[str, ...] = board
    else:
        likely = (f"{bench}: the square wave tilts less", *board) if flat else (*board, bench)
    remedy = f" with {format_value(cure.value, 'F')}" if cure is not None else ""
    return Flag(
        name="early-roll-off-low",
        severity=Severity.WRONG,
        step=low.step,
        channel=low.channel,
        load=low.load,
        says=f"The low end falls away early{evidence.channel_words(low)}: -3 dB already at "
        f"{evidence.shown(low)}.",
        evidence=(evidence.of(low), *evidence.limit_of(low), *map(evidence.of, beside)),
        likely=likely,
        next_try="Read the oscillator's own level at the lowest frequency on the same meter; then "
        f"bridge the coupling capacitor{remedy}, power off while you do."
        if flat
        else f"Power off, bridge the coupling capacitor{remedy}, and read the lowest frequency "
        "again; "
        "then read the oscillator's own level there.",
        keys=low.basis,
    )


def _tilt_says_flat(low: Result, findings: Findings) -> bool:
    """A 100 Hz square wave that tilts far less than this low end would make it."""
    for tilt in findings.named("tilt", channel=low.channel):
        tone = (tilt.point or "").split("/")[0]
        if tone != "100 Hz":
            continue
        # First order, half a period: 1 - exp(-pi fc / f); the meters settle whether it is less.
        expected = -100.0 * math.expm1(-math.pi * low.value / 100.0)
        if tilt.value + 3.0 * tilt.measure.standard_uncertainty < 0.7 * expected - 2.0:
            return True
    return False


def _high_end(high: Result, findings: Findings) -> Flag:
    beside = evidence.beside(high, findings, "corner_high", "slope_high")
    board = (
        "Input filter or compensation capacitor too large",
        "Level so high that the stage slews",
    )
    loading, stray = _loading(high, findings)
    bench = "The meter's or the oscillator's own bandwidth ends here"
    faster = _edge_is_faster(high, findings)
    if _slews(high, findings):
        likely: tuple[str, ...] = (
            f"{board[1]}: the square wave's slope ends the sweep here",
            board[0],
            *loading,
        )
    elif _bench_known(findings):
        likely = (board[0], *loading, board[1])
    elif faster or _shared(high, findings):
        why = "the square wave's edge is faster" if faster else "both channels fall at one place"
        likely = (f"{bench}: {why}", board[0], *loading, board[1])
    else:
        likely = (board[0], *loading, bench, board[1])
    return Flag(
        name="early-roll-off-high",
        severity=Severity.WRONG,
        step=high.step,
        channel=high.channel,
        load=high.load,
        says=f"The high end falls away early{evidence.channel_words(high)}: -3 dB already at "
        f"{evidence.shown(high)}.",
        evidence=(
            evidence.of(high),
            *evidence.limit_of(high),
            *map(evidence.of, beside),
            *stray,
        ),
        likely=likely,
        next_try="Read the oscillator's own level at the same frequency on the same meter; then "
        "read the output again at a tenth of the level, to tell bandwidth from slewing.",
        keys=high.basis,
    )


def _slews(high: Result, findings: Findings) -> bool:
    row = row_for(board_rows(findings), high.channel)
    return row is not None and any(
        slews_in_sweep(rise, row, findings)
        for rise in findings.named("rise_time", channel=high.channel)
    )


def _edge_is_faster(high: Result, findings: Findings) -> bool:
    """A rise time that a response ending here could not have."""
    return any(
        surely_below(rise.measure, _FASTEST / high.value)
        for rise in findings.named("rise_time", channel=high.channel)
    )


def _loading(high: Result, findings: Findings) -> tuple[tuple[str, ...], tuple[Evidence, ...]]:
    """The capacitance at the input that would load the oscillator so: C = 1 / (2 pi Rs f)."""
    source = findings.facts.get("source_resistance", 0.0)
    plain = "A long screened lead on a source of high resistance"
    if source <= 0.0:
        return (plain,), ()
    farads = 1.0 / (2.0 * math.pi * source * high.value)
    if not _STRAY[0] <= farads <= _STRAY[1]:
        return (), ()
    ohms, size = format_value(source, "ohm"), format_value(farads, "F", digits=2)
    return (
        (f"The oscillator's {ohms} loaded by {size} of lead and input filter",),
        (Evidence("Capacitance that would do it at the input", size),),
    )
