"""Against physics: levels that loading raises, and gains that no power amplifier has."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import (
    SURE,
    difference,
    surely_above,
    surely_below,
)

_UNCHANGED = 0.01
"""Share by which oscillator and output move while a load is changed [1]: 0.1 dB, common
practice, no source."""
_LEAST_GAIN, _MOST_GAIN = 10.0, 50.0
"""[dB] Power amplifiers have 20 dB to 36 dB; nothing outside these two is one. Common practice,
no source."""


def find(findings: Findings) -> Iterator[Flag]:
    """Loaded levels against the open one, source impedances, gains."""
    for opened in findings.named("level_open"):
        for name in ("level_8", "level_4"):
            yield from _louder(opened, name, findings)
    for gain in findings.named("gain"):
        low, high = surely_below(gain.measure, _LEAST_GAIN), surely_above(gain.measure, _MOST_GAIN)
        if low or high:
            yield _gain(gain, findings)
    yield from _source_gap(findings)


def _louder(opened: Result, name: str, findings: Findings) -> Iterator[Flag]:
    where = {"step": opened.step, "channel": opened.channel}
    loaded = findings.first(name, **where)
    if loaded is None:
        return
    rise = difference(loaded.measure, opened.measure)
    if not surely_above(rise, _UNCHANGED * opened.value):
        return
    beside = findings.firsts("input_level", "gain", **where)
    yield Flag(
        name="level-above-gain",
        severity=Severity.WRONG,
        step=opened.step,
        channel=opened.channel,
        load=None,
        says=f"A load does not raise the output{evidence.channel_words(opened)}: "
        f"{evidence.shown(loaded)} with it, "
        f"{evidence.shown(opened)} without; the generator's level times the "
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


def _gain(gain: Result, findings: Findings) -> Flag:
    where = {"step": gain.step, "channel": gain.channel}
    read = findings.firsts("input_level", "level_open", **where)
    return Flag(
        name="gain-unlikely",
        severity=Severity.LOOK,
        step=gain.step,
        channel=gain.channel,
        load=gain.load,
        says=f"A gain of {evidence.shown(gain)} is not that of a power "
        f"amplifier{evidence.channel_words(gain)}.",
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
        says=f"The source impedance is {evidence.shown(four)} from the 4 Ω "
        f"load and {evidence.shown(eight)} from the 8 Ω load"
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
