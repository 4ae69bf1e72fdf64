"""The marks of a run: how the total came about, as text and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge import Marks
from stepwise.quantities import Uncertain
from stepwise.report.columns import hanging, table_row
from stepwise.safe_text import plain

_NAME, _MARK, _WEIGHT, _SAYS = 26, 11, 6, 33


def marks_text(marks: Marks) -> Iterator[str]:
    """One row a criterion and the total; nothing where there is no scheme."""
    if not marks.lines:
        return
    yield "Marks out of ten"
    for line in marks.lines:
        yield from table_row(
            [
                ([plain(line.criterion.name)], _NAME),
                ([line.figure], _MARK),
                ([f"× {line.criterion.weight}"], _WEIGHT),
                ([plain(line.says)], _SAYS),
            ]
        )
    yield from hanging(_total(marks), " ", "   ")


def _total(marks: Marks) -> str:
    if marks.span is None:
        return "No total: nothing was found to mark"
    total = f"Total {marks.figure} out of ten"
    if not marks.missing:
        return total
    low, high = marks.span
    return (
        f"{total}, over {marks.weight_given} of {marks.weight} points of weight; "
        f"what is missing could make it {low:.1f} to {high:.1f}"
    )


def marks_record(marks: Marks) -> dict[str, object] | None:
    """The marks as plain JSON values; None where there is no scheme."""
    if not marks.lines:
        return None
    return {
        **_figures("total", marks.total),
        "weight": marks.weight,
        "weight_given": marks.weight_given,
        "span": list(marks.span) if marks.span is not None else None,
        "criteria": [
            {
                "name": line.criterion.name,
                "weight": line.criterion.weight,
                **_figures("mark", line.mark),
                "says": line.says,
            }
            for line in marks.lines
        ],
    }


def _figures(name: str, measure: Uncertain | None) -> dict[str, float | None]:
    if measure is None:
        return {name: None, "uncertainty": None}
    return {name: measure.value, "uncertainty": measure.stated_uncertainty}
