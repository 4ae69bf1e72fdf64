"""Against physics: levels that loading raises, and gains that no power amplifier has."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import (
    MAINS_DRIFT,
    SURE,
    difference,
    surely_above,
    surely_below,
)
from stepwise.quantities import format_value

_UNCHANGED = 0.01
"""Share by which oscillator and output move while a load is changed [1]: 0.1 dB, common
practice, no source."""
_NEIGHBOURS_DRIFT = 0.01
"""Share by which the mains moves between one pass and the next [1]: common practice, no source."""
_MORE_CURRENT = 1.5
"""Ratio of two currents [1] from which the sags must tell them apart."""
_LEAST_GAIN, _MOST_GAIN = 10.0, 50.0
"""[dB] Power amplifiers have 20 dB to 36 dB; nothing outside these two is one. Common practice,
no source."""


def find(findings: Findings) -> Iterator[Flag]:
    """Loaded levels against the open one, clean levels into two loads, gains."""
    for opened in findings.named("level_open"):
        for name in ("level_8", "level_4"):
            yield from _louder(opened, name, findings)
    yield from _swapped(findings)
    for gain in findings.named("gain"):
        low, high = surely_below(gain.measure, _LEAST_GAIN), surely_above(gain.measure, _MOST_GAIN)
        if low or high:
            yield _gain(gain, findings)
    yield from _source_gap(findings)
    yield from _same_load(findings)


def _louder(opened: Result, name: str, findings: Findings) -> Iterator[Flag]:
    where = {"step": opened.step, "channel": opened.channel}
    loaded = findings.first(name, **where)
    if loaded is None:
        return
    rise = difference(loaded.measure, opened.measure)
    if not surely_above(rise, _UNCHANGED * opened.value):
        return
    beside = [r for n in ("input_level", "gain") if (r := findings.first(n, **where)) is not None]
    yield Flag(
        name="level-above-gain",
        severity=Severity.WRONG,
        step=opened.step,
        channel=opened.channel,
        load=None,
        says=f"A load does not raise the output{evidence.channel_words(opened)}: "
        f"{format_value(loaded.value, 'V', digits=3)} with it, "
        f"{format_value(opened.value, 'V', digits=3)} without; the generator's level times the "
        "gain is all there is.",
        evidence=(evidence.of(opened), evidence.of(loaded), *map(evidence.of, beside)),
        likely=(
            "The oscillator was touched between the two readings",
            "The two were read on different ranges",
            "The stage oscillates with the load on",
        ),
        next_try="Without touching the oscillator, take the loaded level again, then the open "
        "one, both on one range.",
        keys=evidence.keys_of(loaded, opened),
    )


def _ohms(load: str | None) -> float | None:
    """Nominal resistance [ohm] of a load's label."""
    return float(load.split()[0]) if load else None


def _swapped(findings: Findings) -> Iterator[Flag]:
    """Clean levels of one channel into two loads: the lower one never has more volts.

    Its rails sag more and the stage drops more; what is left is the drift of the mains.
    """
    by_pass: dict[tuple[str, str | None], list[tuple[float, Result]]] = {}
    for level in findings.named("level"):
        ohms = _ohms(level.load)
        if ohms is not None:
            by_pass.setdefault((level.step, level.channel), []).append((ohms, level))
    for levels in by_pass.values():
        ordered = [level for _, level in sorted(levels, key=lambda each: -each[0])]
        for high, low in pairwise(ordered):
            rise = difference(low.measure, high.measure)
            if surely_above(rise, MAINS_DRIFT * high.value):
                yield _more_volts(high, low)
                break
    for low in findings.named("level_4"):
        opened = findings.first("level_8", step=low.step, channel=low.channel)
        if opened is not None:
            rise = difference(low.measure, opened.measure)
            if surely_above(rise, _UNCHANGED * opened.value):
                yield _more_volts(opened, low)


def _same_load(findings: Findings) -> Iterator[Flag]:
    """Half the ohms take nearly twice the current: then the rails sag further.

    A rail charged in pulses falls by about the two-thirds power of its current (rectifier with
    source resistance), a battery by the first; a fall by less than the third power is neither.
    """
    sags: dict[tuple[str, str | None], list[tuple[float, Result]]] = {}
    for sag in findings.named("sag", point="rail_plus"):
        ohms = _ohms(sag.load)
        if ohms is not None:
            sags.setdefault((sag.step, sag.channel), []).append((ohms, sag))
    for group in sags.values():
        ordered = sorted(group, key=lambda each: -each[0])
        for high, low in pairwise(ordered):
            flag = _alike(high, low, findings)
            if flag is not None:
                yield flag


def _alike(
    high: tuple[float, Result], low: tuple[float, Result], findings: Findings
) -> Flag | None:
    levels = [
        findings.first("level", step=sag.step, channel=sag.channel, load=sag.load)
        for _, sag in (high, low)
    ]
    before, after = levels
    if before is None or after is None or before.value <= 0.0:
        return None
    currents = (after.value / low[0]) / (before.value / high[0])
    if currents < _MORE_CURRENT:
        return None
    short = difference(high[1].measure.scaled(currents ** (1.0 / 3.0)), low[1].measure)
    if not surely_above(short, 100.0 * _NEIGHBOURS_DRIFT):
        return None
    return Flag(
        name="same-load-twice",
        severity=Severity.WRONG,
        step=low[1].step,
        channel=low[1].channel,
        load=None,
        says=f"The rails sag alike into {evidence.load_text(high[1].load)} and "
        f"{evidence.load_text(low[1].load)}{evidence.channel_words(low[1])}: the same load was "
        "connected both times.",
        evidence=(
            evidence.here(high[1]),
            evidence.here(low[1]),
            evidence.here(before),
            evidence.here(after),
            evidence.of_value("Current, second over first", currents, ""),
        ),
        likely=(
            "The load was not changed between the two passes",
            "One of the loads is not what is marked on it",
            "The rail was read with the tone off in one of the passes",
        ),
        next_try="Tone off: read both loads with the ohmmeter at the clips. Then take the level "
        "of the pass that had the wrong one.",
        keys=evidence.keys_of(before, after),
    )


def _more_volts(high: Result, low: Result) -> Flag:
    far = low.value > 1.5 * high.value
    swapped = "The two loads were changed over, or one is not what is marked on it"
    range_slip = "One of the two levels was read on another range"
    return Flag(
        name="more-volts-into-less",
        severity=Severity.WRONG,
        step=low.step,
        channel=low.channel,
        load=None,
        says=f"The lower load has more volts across it{evidence.channel_words(low)}: "
        f"{format_value(low.value, 'V', digits=3)} against "
        f"{format_value(high.value, 'V', digits=3)}; a supply gives the lower one less.",
        evidence=(evidence.here(low), evidence.here(high)),
        likely=(
            *((range_slip, swapped) if far else (swapped, range_slip)),
            "The higher load was read before the tops had quite flattened",
        ),
        next_try="Tone off: read both loads with the ohmmeter. Then take the level into the lower "
        "one again, and the other.",
        keys=evidence.keys_of(low, high),
    )


def _gain(gain: Result, findings: Findings) -> Flag:
    where = {"step": gain.step, "channel": gain.channel}
    read = [
        r for n in ("input_level", "level_open") if (r := findings.first(n, **where)) is not None
    ]
    ratio = 10.0 ** (gain.value / 20.0) if math.isfinite(gain.value) else math.nan
    return Flag(
        name="gain-unlikely",
        severity=Severity.LOOK,
        step=gain.step,
        channel=gain.channel,
        load=gain.load,
        says=f"A gain of {format_value(gain.value, 'dB', digits=3)} "
        f"({format_value(ratio, '', digits=2)} times) is not that of a power amplifier"
        f"{evidence.channel_words(gain)}.",
        evidence=(evidence.of(gain), *map(evidence.of, read)),
        likely=(
            "The level at the input was read on another range, or in millivolts without saying so",
            "The level control of the board is turned down",
            "The input was read at the oscillator's far side of an attenuator",
        ),
        next_try="Take the level at the input again, at the board's own terminals, and say the "
        "range.",
        keys=evidence.keys_of(*read) or gain.basis,
    )


def _source_gap(findings: Findings) -> Iterator[Flag]:
    """Two loads must speak of one source; what they leave between them is the contradiction."""
    for four in findings.named("source_impedance"):
        eight = findings.first("source_impedance_8", step=four.step, channel=four.channel)
        if eight is None:
            continue
        gap = difference(four.measure, eight.measure)
        # Leads and contacts add some hundredths of an ohm, not the same ones each time; beyond
        # that a fifth of the value is what a stage that is not linear may leave. Common
        # practice, no source.
        margin = 0.05 + 0.2 * max(abs(four.value), abs(eight.value))
        if abs(gap.value) > SURE * gap.standard_uncertainty + margin:
            yield _gap(four, eight)


def _gap(four: Result, eight: Result) -> Flag:
    return Flag(
        name="source-impedance-disagrees",
        severity=Severity.LOOK,
        step=four.step,
        channel=four.channel,
        load=None,
        says=f"The source impedance is {format_value(four.value, 'ohm', digits=2)} from the 4 Ω "
        f"load and {format_value(eight.value, 'ohm', digits=2)} from the 8 Ω load"
        f"{evidence.channel_words(four)}; it should be one.",
        evidence=(evidence.of(four), evidence.of(eight)),
        likely=(
            "The oscillator was touched, or the range changed, between the readings",
            "The two loads were changed over, or a contact adds resistance to one of them",
            "The output limits its current already: the level is too high for this test",
        ),
        next_try="Set the open level once more and take all three again on one range, leads on "
        "the board's own terminals.",
        keys=evidence.keys_of(four, eight)[::-1],
    )
