"""What a capture shows as plain JSON values: the stable form that other programs read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from stepwise.captures.figure import Figure
from stepwise.captures.figures import harmonic_share
from stepwise.captures.read import Capture

if TYPE_CHECKING:
    from stepwise.science import Harmonic

FORMAT = 1
"""Keys are only ever added within one format."""


def capture_record(
    capture: Capture,
    taken_as: str,
    figures: Sequence[Figure],
    harmonics: Sequence[Harmonic] = (),
    notes: Sequence[str] = (),
) -> dict[str, object]:
    """Everything that a capture shows.

    Values are in the unit given; `uncertainty` is expanded with k = `coverage`, that of
    a harmonic with k = 2. What carries `at_least` lost a peak that runs off the screen.

    Args:
        capture: The capture.
        taken_as: "square" or "sine".
        figures: What it shows.
        harmonics: The table of a sine.
        notes: Sentences on what the record could not show.
    """
    return {
        "format": FORMAT,
        "capture": {
            "file": capture.path.name,
            "channel": capture.channel,
            "channels": list(capture.channels),
            "samples": int(capture.volts.size),
            "sample_rate": capture.sample_hertz,
            "start": capture.start_s,
            "as": taken_as,
        },
        "results": [_result(figure) for figure in figures],
        "harmonics": [
            {
                "order": each.order,
                "frequency": each.hertz,
                "level": each.rms_volts,
                "percent": each.percent,
                "uncertainty_percent": harmonic_share(each).expanded_uncertainty,
            }
            for each in harmonics
        ],
        "notes": list(notes),
    }


def _result(figure: Figure) -> dict[str, object]:
    measure = figure.measure
    return {
        "name": figure.name,
        "label": figure.label,
        "value": _number(measure.value),
        "unit": figure.unit,
        "uncertainty": _number(measure.expanded_uncertainty),
        "coverage": measure.coverage_factor,
        **({"at_least": True} if figure.is_at_least else {}),
    }


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
