"""Stability: ringing into a capacitor, overshoot, slew rate, oscillation without a signal."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import surely_above, surely_below
from stepwise.judge.flags.sweep_points import square_capacitor
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value

_ENDLESS = 6.0
"""Cycles of ringing that can be told [1] beyond which it hardly dies away. An eye that follows it
down to 2 % counts ln 50 / (2 pi d) cycles: six stand for a damping ratio d of 0.10, a phase
margin near 10 degrees (100 d, textbook). A slow loop (150 kHz) shows no more than seven in half
a period of 10 kHz: then they fill it, and nobody can tell where they would end."""
_HARDLY_DAMPED = 0.1
"""The same as a damping ratio [1]."""
_MANY = 5.0
"""Likewise a damping ratio of 0.12 and 12 degrees, where no limit is given; a count may be one
off."""
_LARGE_WITH_CAPACITOR = 40.0
"""[%] A damping ratio of 0.28 (second-order step); overshoot below it is usual into 100 nF
behind an output inductor. Common practice, no source."""
_LARGE = 20.0
"""[%] A damping ratio of 0.456, a phase margin of about 45 degrees: the least that textbooks ask
of a loop. Holds where no limit is given."""
_BY_BANDWIDTH = 0.35 * 1.5
"""Rise time times -3 dB frequency up to which bandwidth, with the edges of oscillator and scope,
explains an edge [1]: 0.35 for one pole, half as much more by common practice, no source."""
_AUDIBLE_EDGE = 20_000.0
"""[Hz] Upper edge of the band that power amplifiers are rated for (16 CFR 432)."""


def find(findings: Findings) -> Iterator[Flag]:
    """Ringing and overshoot with a capacitor and without; slew rate against full power."""
    yield from _with_capacitor(findings)
    yield from _overshoot(findings)
    for slew in findings.named("slew_rate"):
        yield from _slew(slew, findings)


def _with_capacitor(findings: Findings) -> Iterator[Flag]:
    """The worst look of a channel: one board is one flag, however many capacitors were tried."""
    worst: dict[tuple[str, str | None], tuple[int, float, Result]] = {}
    for name, grade in (
        ("ringing_cycles", _cycles_grade),
        ("damping_ratio", _damping_grade),
        ("overshoot", _overshoot_grade),
    ):
        for result in findings.named(name):
            if square_capacitor(result) is None:
                continue
            rank, size = grade(result)
            place = (result.step, result.channel)
            if rank and (rank, size) > worst.get(place, (0, 0.0))[:2]:
                worst[place] = (rank, size, result)
    for rank, _, result in worst.values():
        yield _endless(result, findings) if rank == 3 else _rings(result, rank, findings)


def _cycles_grade(cycles: Result) -> tuple[int, float]:
    if surely_above(cycles.measure, _ENDLESS):
        return 3, cycles.value
    if _beyond(cycles, _MANY):
        return 2, cycles.value
    return 0, 0.0


def _damping_grade(damping: Result) -> tuple[int, float]:
    if surely_below(damping.measure, _HARDLY_DAMPED):
        return 3, 1.0 - damping.value
    return 0, 0.0


def _overshoot_grade(overshoot: Result) -> tuple[int, float]:
    if _beyond(overshoot, _LARGE_WITH_CAPACITOR):
        return (2 if overshoot.judgement.limit is not None else 1), overshoot.value
    return 0, 0.0


def _beyond(result: Result, edge: float) -> bool:
    if result.judgement.limit is not None:
        return result.judgement.verdict is Verdict.OUT_OF_SPEC
    return surely_above(result.measure, edge)


def _looks(result: Result, findings: Findings) -> list[Result]:
    """Everything that was seen of overshoot and ringing on that channel, none to large."""
    names = ("overshoot", "ringing_cycles", "ringing_frequency", "damping_ratio")
    found = [each for name in names for each in findings.named(name, channel=result.channel)]
    return [result, *(each for each in found if each is not result)]


def _endless(result: Result, findings: Findings) -> Flag:
    return Flag(
        name="rings-without-end",
        severity=Severity.STOP,
        step=result.step,
        channel=result.channel,
        load=result.load,
        says=f"With {square_capacitor(result)} across the load the ringing hardly dies away"
        f"{evidence.channel_words(result)}: a little more and the stage oscillates.",
        evidence=tuple(map(evidence.of, _looks(result, findings)[:6])),
        likely=_RINGING,
        next_try="Tone off, power off, capacitor off. See whether the output network's resistor "
        "is scorched, without touching it, "
        "and look for the output inductor before anything else is tried.",
        keys=result.basis,
        closes=("capacitor",),
        reopens="Take the look with the capacitor again after the repair; it opens when no "
        f"more than {_ENDLESS:g} cycles are counted.",
    )


def _rings(result: Result, rank: int, findings: Findings) -> Flag:
    return Flag(
        name="rings-with-capacitor",
        severity=Severity.WRONG if rank == 2 else Severity.LOOK,
        step=result.step,
        channel=result.channel,
        load=result.load,
        says=f"{square_capacitor(result)} across the load makes the square wave ring"
        f"{evidence.channel_words(result)}: {result.label[:1].lower()}{result.label[1:]} is "
        f"{evidence.shown(result)}.",
        evidence=(*map(evidence.of, _looks(result, findings)[:6]), *evidence.limit_of(result)),
        likely=_RINGING,
        next_try="Keep the tone short. Try a smaller capacitor, then none: ringing that goes with "
        "it comes from the output network; ringing that stays comes from the loop.",
        keys=result.basis,
    )


_RINGING = (
    "The output inductor is missing, bridged or has a shorted turn",
    "The damping network (resistor and capacitor from output to ground) is open",
    "The feedback or compensation capacitor is missing or of the wrong value",
)


def _overshoot(findings: Findings) -> Iterator[Flag]:
    worst: dict[tuple[str, str | None], Result] = {}
    for overshoot in findings.named("overshoot"):
        place = (overshoot.step, overshoot.channel)
        if square_capacitor(overshoot) is not None or not _beyond(overshoot, _LARGE):
            continue
        if place not in worst or overshoot.value > worst[place].value:
            worst[place] = overshoot
    for result in worst.values():
        peak = findings.first("peak_db", channel=result.channel)
        yield Flag(
            name="overshoot-too-much",
            severity=Severity.WRONG if result.judgement.limit is not None else Severity.LOOK,
            step=result.step,
            channel=result.channel,
            load=result.load,
            says=f"The edge overshoots by {evidence.shown(result)} into a plain "
            f"resistor{evidence.channel_words(result)}: the loop has little margin.",
            evidence=(
                evidence.of(result),
                *([evidence.of(peak)] if peak is not None else ()),
                *evidence.limit_of(result),
            ),
            likely=(
                "The feedback or compensation capacitor is missing or of the wrong value",
                "The probe's ground lead is long, or the probe is not trimmed",
                "The oscillator's own square wave overshoots",
            ),
            next_try="Look at the oscillator's own edge with the same probe first; then trim the "
            "probe and take the overshoot again.",
            keys=result.basis,
        )


def _is_bandwidth(slew: Result, findings: Findings) -> bool:
    """Whether the sweep's -3 dB point explains the edge: then its slope is no slew rate."""
    place = {"step": slew.step, "channel": slew.channel, "point": slew.point}
    rise = findings.first("rise_time", **place)
    end = findings.last_of_board("minus_3db_high", channel=slew.channel)
    return rise is not None and end is not None and rise.value * end.value <= _BY_BANDWIDTH


def _slew(slew: Result, findings: Findings) -> Iterator[Flag]:
    """Slope that the clean level needs at the upper edge of the band: 2 pi f Up."""
    levels = [lv for lv in findings.named("level") if lv.channel in (None, slew.channel)]
    highest = max(levels, key=lambda level: level.value, default=None)
    if highest is None:
        return
    needed = 2.0 * math.pi * _AUDIBLE_EDGE * math.sqrt(2.0) * highest.value
    if not surely_below(slew.measure, needed) or _is_bandwidth(slew, findings):
        return
    yield Flag(
        name="slew-limited",
        severity=Severity.LOOK,
        step=slew.step,
        channel=slew.channel,
        load=None,
        says=f"{evidence.shown(slew)} is too slow for the clean level at "
        f"20 kHz, which needs {format_value(needed, 'V/s', digits=2)}"
        f"{evidence.channel_words(slew)}.",
        evidence=(
            evidence.of(slew),
            evidence.here(highest),
            evidence.of_value("Needed at 20 kHz", needed, "V/s"),
        ),
        likely=(
            "The first stages have too little current for their compensation capacitor",
            "The square wave was too low for the stage to slew: the figure is a lower bound",
            "The oscillator's own edge is that slow",
        ),
        next_try="Halve the level and read the rise time again: if it halves too, it is slewing; "
        "if it stays, it is bandwidth.",
        keys=slew.basis,
    )
