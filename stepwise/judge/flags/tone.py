"""The tone: how long it was on."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.quantities import format_value


def find(findings: Findings) -> Iterator[Flag]:
    """A tone that was, or is, on for longer than the procedure allows."""
    for span in findings.tones:
        if span.allowed_seconds is None or span.seconds <= span.allowed_seconds:
            continue
        yield Flag(
            name="tone-too-long",
            severity=Severity.WRONG if span.running else Severity.LOOK,
            step=span.step,
            channel=span.channel,
            load=span.load,
            says=f"The tone {'has been' if span.running else 'was'} on for "
            f"{format_value(span.seconds, 's', digits=2)}.",
            evidence=(
                Evidence("On", format_value(span.seconds, "s", digits=2)),
                Evidence("Allowed", format_value(span.allowed_seconds, "s")),
            ),
            likely=("Readings took longer than planned",),
            next_try="Tone off. Let it cool before the next pass: rails and heat read while hot "
            "are worse than the board is.",
        )
