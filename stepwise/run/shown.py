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
                "closes": list(flag.closes),
            }
            for flag in flags
        ],
    }


def fresh_results(after: Sequence[Result], before: Sequence[Result]) -> tuple[Result, ...]:
    """Results that are new or changed."""
    known = {id(result) for result in before}
    earlier: set[tuple[object, ...]] = set()
    fresh = []
    for result in after:
        if id(result) in known:
            continue
        if not earlier:
            earlier = {_figures(each) for each in before}
        if _figures(result) not in earlier:
            fresh.append(result)
    return tuple(fresh)


def _figures(result: Result) -> tuple[object, ...]:
    return (
        result.step, result.channel, result.load, result.point, result.name, result.value,
        result.measure.standard_uncertainty, result.judgement.verdict,
    )  # fmt: skip
