"""Shock: a dual supply is judged from rail to rail, a single one by its rail."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stepwise.judge.findings import Findings
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.quantities import format_value

_TOUCH_LIMIT = 60.0
"""[V DC] IEC 62368-1 ES1 and IEC 61010-1 6.3.1, normal conditions (from memory)."""


def find(findings: Findings) -> Iterator[Flag]:
    """Both rails together, or a lone one, above what may be touched; once for a step."""
    seen: set[str] = set()
    for plus in findings.named("rail_plus"):
        minus = findings.first("rail_minus", step=plus.step, channel=plus.channel, load=plus.load)
        if plus.step in seen or plus.load is not None:
            continue
        rails = [plus] if minus is None else [plus, minus]
        # By size: a negative rail that was typed without its sign is no less dangerous.
        across = math.fsum(abs(rail.value) for rail in rails)
        if across <= _TOUCH_LIMIT:
            continue
        seen.add(plus.step)
        where = "stands on the rail" if minus is None else "lies between the rails"
        yield Flag(
            name="rail-to-rail-shock",
            severity=Severity.NOTE,
            step=plus.step,
            channel=None,
            load=None,
            says=f"{format_value(across, 'V', digits=3)} DC {where}: over 60 V, treat the board "
            "as hazardous live.",
            evidence=(
                *map(evidence.of, rails),
                Evidence("Rail to rail", format_value(across, "V", digits=3)),
            ),
            likely=("This is what the transformer gives; no fault is needed for it",),
            next_try="One hand, insulated probes, nothing touched while it is on. Local "
            "codes and licensed practice come first.",
            keys=evidence.keys_of(*rails),
        )
