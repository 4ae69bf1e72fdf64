"""DC at the output: what would sit on a loudspeaker's voice coil."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value

_HARMFUL = 1.0
"""[V] From here a loudspeaker is in danger at once: common practice, no source."""
_PERMISSIBLE = 0.1
"""[V] Below this offset is generally called safe: common practice, no source."""


def find(findings: Findings) -> Iterator[Flag]:
    """An offset that is out of spec, or harmful whatever its limit says."""
    for result in findings.named("offset"):
        size = abs(result.value)
        if size < _PERMISSIBLE and result.judgement.verdict is not Verdict.OUT_OF_SPEC:
            continue
        harmful = size >= _HARMFUL
        yield Flag(
            name="dc-offset",
            severity=Severity.STOP if harmful else Severity.WRONG,
            step=result.step,
            channel=result.channel,
            load=result.load,
            says=f"{format_value(result.value, 'V')} DC stands at the output"
            f"{evidence.channel_words(result)}"
            + ("; a loudspeaker would be harmed." if harmful else "."),
            evidence=(evidence.of(result), evidence.edge(result)),
            likely=(
                "Input or output device damaged, or its bias network open",
                "Offset trimmer not set",
                "Leaky coupling or feedback capacitor",
            ),
            next_try=(
                "Keep loudspeakers off. Short the input and read the offset again: if it stays, "
                "the fault is in the stage; if it goes, in what feeds it."
            ),
            keys=result.basis,
        )
