"""A comparison as plain JSON values, for other programs. Keys are only ever added."""

from __future__ import annotations

from stepwise.archive.comparison import ComparedResult, Comparison, Difference
from stepwise.archive.occasion import ALLOWANCE
from stepwise.quantities import Uncertain

FORMAT = 1


def comparison_record(comparison: Comparison) -> dict[str, object]:
    """Everything that a comparison shows; uncertainties are expanded."""
    return {
        "format": FORMAT,
        "sides": [
            {
                "side": side.letter,
                "folder": side.folder.name,
                "unit": side.unit,
                "serial": side.serial,
                "procedure": side.procedure,
                "revision": side.revision,
                "bench": side.bench,
                "episode": side.episode,
                "began": side.began,
                "verdict": side.conclusion.verdict.value,
                "conclusion": side.conclusion.words,
            }
            for side in comparison.sides
        ],
        "comparable": comparison.is_comparable,
        "conditions": [
            {
                "what": each.what,
                "values": list(each.values),
                "bearing": each.bearing.value,
                "affects": each.affects,
            }
            for each in comparison.conditions
        ],
        "results": [_result(each) for each in comparison.results],
        "curves": [
            {
                "step": curve.step,
                "channel": curve.channel,
                "points": [
                    {"frequency": hertz} | _result(point)
                    for hertz, point in zip(curve.frequencies, curve.points, strict=True)
                ],
            }
            for curve in comparison.curves
        ],
        "flags": [
            {
                "flag": each.flag.name,
                "step": each.flag.step,
                "channel": each.flag.channel,
                "load": each.flag.load,
                "says": each.flag.says,
                "on": list(each.on),
            }
            for each in comparison.flags
        ],
        "sentence": comparison.sentence,
        "allowance": ALLOWANCE,
    }


def _result(each: ComparedResult) -> dict[str, object]:
    return {
        "step": each.step,
        "channel": each.channel,
        "load": each.load,
        "point": each.point,
        "name": each.name,
        "label": each.label,
        "unit": each.unit,
        "values": [_measure(value) for value in each.values],
        "differences": [_difference(change) for change in each.differences],
        "serves_others": each.is_way,
    }


def _measure(value: Uncertain | None) -> dict[str, float | None] | None:
    if value is None:
        return None
    return {"value": value.value, "uncertainty": value.stated_uncertainty}


def _difference(change: Difference | None) -> dict[str, object] | None:
    if change is None:
        return None
    return {**(_measure(change.measure) or {}), "change": change.change.value}
