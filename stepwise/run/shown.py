"""What an answer led to, as it was shown: kept beside the answer in the journal."""

from __future__ import annotations

from collections.abc import Sequence

from stepwise.judge import Flag, Result


def shown_data(results: Sequence[Result], flags: Sequence[Flag]) -> dict[str, object]:
    """Results and flags in short, for a later version to compare its own with."""
    return {
        "results": [
            {
                "step": result.step,
                "channel": result.channel,
                "load": result.load,
                "point": result.point,
                "name": result.name,
                "value": result.value,
                "standard_uncertainty": result.measure.standard_uncertainty,
                "unit": result.unit,
                "verdict": result.judgement.verdict.value,
                "probability": result.judgement.probability,
            }
            for result in results
        ],
        "flags": [
            {
                "flag": flag.name,
                "severity": flag.severity.value,
                "step": flag.step,
                "channel": flag.channel,
                "load": flag.load,
                "says": flag.says,
            }
            for flag in flags
        ],
    }
