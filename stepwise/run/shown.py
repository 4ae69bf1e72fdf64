"""What an answer led to, as it was shown: kept beside the answer in the journal."""

from __future__ import annotations

from collections.abc import Sequence

from stepwise.judge import Flag, Marks, Result
from stepwise.quantities import Uncertain


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
                "label": result.label,
                "value": result.value,
                **_doubt(result.measure),
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


def _doubt(measure: Uncertain) -> dict[str, float | None]:
    """Standard and expanded uncertainty; null where only the last digit is known."""
    standard = None if measure.is_least else measure.standard_uncertainty
    return {"standard_uncertainty": standard, "uncertainty": measure.stated_uncertainty}


def withdrawn_data(
    after: Sequence[Result], before: Sequence[Result], cleared: Sequence[Flag]
) -> dict[str, object]:
    """What an answer took away: results that are no more, flags that are gone.

    Empty lists are left out. Whoever folds what was shown ends with what stood last.
    """
    kept = {id(result) for result in after}
    made_anew = [result for result in before if id(result) not in kept]
    names = {result.name for result in made_anew}
    left = {_place(result) for result in after if result.name in names}
    gone = [list(_place(result)) for result in made_anew if _place(result) not in left]
    flags = [list(flag.identity) for flag in cleared]
    taken: dict[str, object] = {"gone": gone, "cleared": flags}
    return {name: some for name, some in taken.items() if some}


def changed_flags(
    after: Sequence[Flag], before: Sequence[Flag]
) -> tuple[tuple[Flag, ...], tuple[Flag, ...]]:
    """Flags that were not there before, and those that are gone."""
    known = {flag.identity for flag in before}
    remaining = {flag.identity for flag in after}
    return (
        tuple(flag for flag in after if flag.identity not in known),
        tuple(flag for flag in before if flag.identity not in remaining),
    )


def closing_data(flags: Sequence[Flag], marks: Marks) -> dict[str, object]:
    """What stands at the end of a run: every flag, and the total of its marks."""
    total = marks.total
    data: dict[str, object] = {"flags": shown_data((), flags)["flags"]}
    if total is not None:
        data["mark"] = {
            "value": total.value,
            "uncertainty": total.stated_uncertainty,
            "weight_given": marks.weight_given,
            "weight": marks.weight,
        }
    return data


def fresh_results(after: Sequence[Result], before: Sequence[Result]) -> tuple[Result, ...]:
    """Results that are new or changed."""
    # Passes that were not worked out again keep their results as objects.
    known = {id(result) for result in before}
    made_anew = [result for result in after if id(result) not in known]
    passes = {(result.step, result.channel, result.load) for result in made_anew}
    earlier = {
        _figures(result)
        for result in before
        if (result.step, result.channel, result.load) in passes
    }
    return tuple(result for result in made_anew if _figures(result) not in earlier)


def _figures(result: Result) -> tuple[object, ...]:
    return (
        result.step, result.channel, result.load, result.point, result.name, result.value,
        result.measure.standard_uncertainty, result.judgement.verdict,
    )  # fmt: skip


def _place(result: Result) -> tuple[str | None, ...]:
    """What tells one result from another, whatever its value."""
    return result.step, result.channel, result.load, result.point, result.name
