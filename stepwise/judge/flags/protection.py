"""Protection and switching: outputs that open late or not at all, and thumps."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import size, surely_above
from stepwise.judge.verdict import Verdict

_LATE = 1.0
"""[s] A rail of 30 V puts 150 W into a coil of 6 ohm; a coil that bears 50 W for long bears that
for about a second. Common practice, no source."""
_NEVER = 10.0
"""[s] Who still waits then may write that it did not open: common practice, no source."""
_THUMP = 1.0
"""[V] What is heard as a knock and moves a cone by a quarter of its travel: common practice, no
source."""
_ON_FAULT = "protection_time"
_NAMES = (_ON_FAULT, "switch_off_time")


def find(findings: Findings) -> Iterator[Flag]:
    """Times until the output opens; excursions when it is switched on."""
    for name in _NAMES:
        for time in findings.named(name):
            if _beyond(time, _LATE):
                yield _late(time) if time.name == _ON_FAULT else _plays_on(time)
    for thump in findings.named("thump"):
        if _beyond(thump, _THUMP):
            yield _thump(thump, findings)


def _beyond(result: Result, edge: float) -> bool:
    if result.judgement.limit is not None:
        return result.judgement.verdict is Verdict.OUT_OF_SPEC
    return surely_above(size(result.measure), edge)


def _late(time: Result) -> Flag:
    never = time.value >= _NEVER
    return Flag(
        name="protection-late",
        severity=Severity.STOP,
        step=time.step,
        channel=time.channel,
        load=time.load,
        says=f"The protection opens the output {'not at all' if never else 'late'}"
        f"{evidence.channel_words(time)}" + ("." if never else f": after {evidence.shown(time)}."),
        evidence=(
            evidence.of(time),
            *evidence.limit_of(time),
            evidence.of_value("A coil bears a stuck rail for about", _LATE, "s"),
        ),
        likely=(
            "The detector's capacitor is too large, or its resistor too high",
            "The relay's contacts are welded, or bridged",
            "The protection is not fed, or not fitted",
        ),
        next_try="No loudspeaker until it opens in time. Power off, dead: measure across the "
        "relay's contacts, then look at the detector.",
        keys=time.basis,
        closes=("loudspeaker",),
        reopens="Take the time again after the repair; it opens when it is in spec.",
    )


def _plays_on(time: Result) -> Flag:
    """Switched off, and the output stays connected: what the falling rails do is heard."""
    return Flag(
        name="protection-late",
        severity=Severity.LOOK,
        step=time.step,
        channel=time.channel,
        load=time.load,
        says=f"Switched off, the output stays connected for {evidence.shown(time)}"
        f"{evidence.channel_words(time)}: what the falling rails do to it reaches the "
        "loudspeaker.",
        evidence=(evidence.of(time), *evidence.limit_of(time)),
        likely=(
            "The relay waits for the rails to fall, or there is none",
            "The relay's contacts are welded, or bridged",
            "The capacitor that holds the relay at switching off is too large",
        ),
        next_try="Oscilloscope at the output, slow time base: switch off and look for a jump. If "
        "there is one, look at what holds the relay.",
        keys=time.basis,
    )


def _thump(thump: Result, findings: Findings) -> Flag:
    delay = findings.first("switch_on_delay", step=thump.step)
    return Flag(
        name="switch-on-thump",
        severity=Severity.LOOK,
        step=thump.step,
        channel=thump.channel,
        load=thump.load,
        says=f"At switching on the output jumps to {evidence.height(thump)}"
        f"{evidence.channel_words(thump)}: a loudspeaker knocks.",
        evidence=(
            evidence.of(thump),
            *([evidence.of(delay)] if delay is not None else ()),
            *evidence.limit_of(thump),
        ),
        likely=(
            "The relay closes before the stage has settled, or there is none",
            "One rail comes up before the other",
            "The offset: look whether it is still there after a minute",
        ),
        next_try="Wait ten seconds, switch on once more and look again; then read the offset.",
        keys=thump.basis,
    )
