"""DC at the output: what would sit on a loudspeaker's voice coil, and from where on it harms."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value

_HARMFUL = 1.0
"""[V] From here a loudspeaker is taken off at once: common practice, no source."""
_PERMISSIBLE = 0.1
"""[V] Below this offset is generally called safe: common practice, no source."""
_LATCHED = 5.0
"""[V] From here the stage has hardly swing left on one side and heats even a dummy load, so
nothing is driven into it any more: common practice, no source."""
_COIL = 6.0
"""[ohm] DC resistance of an 8 ohm voice coil: common practice, no source."""
_TENTH_OF_TRAVEL = 0.4
"""[V] A tenth of a woofer's travel, by a published calculation of its excursion."""
_NAMES = ("offset", "offset_hot", "offset_lamp")


def find(findings: Findings) -> Iterator[Flag]:
    """An offset that is out of spec, or harmful whatever its limit says."""
    for name in _NAMES:
        for result in findings.named(name):
            beyond = abs(result.value) >= _PERMISSIBLE
            if beyond or result.judgement.verdict is Verdict.OUT_OF_SPEC:
                yield _flag(result)


def _flag(result: Result) -> Flag:
    size = abs(result.value)
    harmful = size >= _HARMFUL
    closes, reopens = _closing(size)
    return Flag(
        name="dc-offset",
        severity=Severity.STOP if harmful else Severity.WRONG,
        step=result.step,
        channel=result.channel,
        load=result.load,
        says=f"{evidence.shown(result)} DC stands at the output"
        f"{evidence.channel_words(result)}{_harm(size)}",
        evidence=(
            evidence.of(result),
            *evidence.limit_of(result),
            evidence.of_value("Heat in a coil of 6 Ω", size**2 / _COIL, "W"),
            evidence.of_value("Loudspeakers off from", _HARMFUL, "V"),
        ),
        likely=(
            "Input or output device damaged, or its bias network open",
            "Offset trimmer not set",
            "Leaky coupling or feedback capacitor",
        )
        if harmful
        else (
            "Offset trimmer not set, or the input pair not alike",
            "Leaky coupling or feedback capacitor",
            "Input or output device damaged, or its bias network open",
        ),
        next_try=f"{_advice(size)} Short the input and read the offset again: if it stays, the "
        "fault is in the stage; if it goes, in what feeds it.",
        keys=result.basis,
        closes=closes,
        reopens=reopens,
    )


def _closing(size: float) -> tuple[tuple[str, ...], str]:
    """What an offset closes, and what opens it again."""
    if size >= _LATCHED:
        again = "Take the offset again after the repair; a tone may be driven below 5 V"
        return ("loudspeaker", "tone"), f"{again}, a loudspeaker connected below 1 V."
    if size >= _HARMFUL:
        return ("loudspeaker",), "Take the offset again after the repair; it opens below 1 V."
    return (), ""


def _advice(size: float) -> str:
    """What the size means for loudspeakers; none may contradict what is said of the harm."""
    if size >= _HARMFUL:
        return "Keep loudspeakers off."
    if size >= _TENTH_OF_TRAVEL:
        return "Mend it before a loudspeaker plays on it."
    return "A loudspeaker bears that; set it right all the same."


def _harm(size: float) -> str:
    watts = format_value(size**2 / _COIL, "W", digits=2)
    if size >= _HARMFUL:
        return f"; it would heat a voice coil by {watts} and push the cone out of its place."
    if size >= _TENTH_OF_TRAVEL:
        return "; it would push a woofer a tenth of its travel aside."
    return "; it harms no loudspeaker, but it does not belong there."
