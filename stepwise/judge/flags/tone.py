"""The tone: how long it was on, and how long the board rested before."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from stepwise.judge.findings import Findings, ToneSpan
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.quantities import format_value


def find(findings: Findings) -> Iterator[Flag]:
    """A tone on for longer than the procedure allows; rests that were not kept."""
    for span in findings.tones:
        if span.allowed_seconds is not None and span.seconds > span.allowed_seconds:
            yield _too_long(span, span.allowed_seconds)
    yield from _hurried(findings.tones)


@lru_cache(maxsize=256)  # all but the one that runs stay as they are from answer to answer
def _too_long(span: ToneSpan, allowed: float) -> Flag:
    return Flag(
        name="tone-too-long",
        severity=Severity.WRONG if span.running else Severity.LOOK,
        step=span.step,
        channel=span.channel,
        load=span.load,
        says=f"The tone {'has been' if span.running else 'was'} on for {_seconds(span.seconds)}.",
        evidence=(
            Evidence("On", _seconds(span.seconds)),
            Evidence("Allowed", format_value(allowed, "s")),
        ),
        likely=("Readings took longer than planned",),
        next_try="Tone off. Let it cool before the next pass: rails and heat read while hot "
        "are worse than the board is.",
    )


def _hurried(tones: tuple[ToneSpan, ...]) -> Iterator[Flag]:
    """Once for a step: the shortest of its rests.

    The tone counts as off from the last reading of a pass and as on from the first of the next,
    so the true rest was shorter still.
    """
    shortest: dict[str, ToneSpan] = {}
    for span in tones:
        if span.rested is None or span.wanted_rest is None or span.rested >= span.wanted_rest:
            continue
        best = shortest.get(span.step)
        if best is None or span.rested < (best.rested or 0.0):
            shortest[span.step] = span
    for span in shortest.values():
        rested, wanted = max(span.rested or 0.0, 0.0), span.wanted_rest or 0.0
        yield Flag(
            name="rest-not-kept",
            severity=Severity.LOOK,
            step=span.step,
            channel=None,
            load=None,
            says=f"The board rested for {_seconds(rested)} between two passes, "
            f"not for {format_value(wanted, 's')}: heat and sag add up from pass to pass.",
            evidence=(
                Evidence("Rested", _seconds(rested)),
                Evidence("Wanted", format_value(wanted, "s")),
            ),
            likely=("The next pass was begun at once",),
            next_try="Wait out the rest before the next pass; take the later pass again if its "
            "power is close to its limit.",
        )


def _seconds(seconds: float) -> str:
    """Whole seconds: 124 s are not 120 s where 120 s are allowed."""
    return format_value(seconds, "s", step=1.0)
