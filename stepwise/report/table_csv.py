"""The readings and results of a log as CSV: one row each, tidy."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Mapping

from stepwise.judge import Result
from stepwise.run import RunView, SheetLine
from stepwise.safe_text import csv_cell

COLUMNS = (
    "log", "unit_name", "episode", "procedure", "revision", "began", "row", "step", "kind",
    "channel", "load", "point", "name", "label", "typed", "value", "unit", "uncertainty",
    "coverage", "verdict", "probability", "limit_low", "limit_high", "at", "remark",
)  # fmt: skip
"""`row` is reading, result, confirmation, note or skip; `uncertainty` is expanded with k =
`coverage`; `value`, `uncertainty` and the limits are in `unit`. A cell that does not apply is
empty."""

_DIGITS = 8
"""Significant digits of a number: beyond them, two machines may round differently."""

_Cell = str | float | int | None
_Row = Mapping[str, _Cell]


def readings_csv(view: RunView) -> str:
    """Every reading, result, confirmation, note and skip of a log.

    Text is always in quotes and harmless to a spreadsheet; numbers are bare, with a point.

    Args:
        view: A log as it was read.
    """
    held = io.StringIO()
    writer = csv.writer(held, lineterminator="\n", quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(COLUMNS)
    about = _about(view)
    for row in _rows(view):
        whole = {**about, **row}
        writer.writerow([_printed(whole.get(column)) for column in COLUMNS])
    return held.getvalue()


def _about(view: RunView) -> _Row:
    run, begin = view.run, view.run.state.begin
    return {
        "log": run.folder.name,
        "unit_name": run.plan.unit.name,
        "episode": str(begin.get("episode", "")),
        "procedure": run.plan.procedure.name,
        "revision": run.plan.procedure.revision,
        "began": run.state.began_at or "",
    }


def _rows(view: RunView) -> Iterator[_Row]:
    """In the order of the procedure: the results of a step, then what has no result."""
    run = view.run
    read = {result.key for result in run.results() if result.key is not None}
    for step in run.plan.procedure.steps:
        for result in run.results():
            if result.step == step.id:
                yield _result(view, result)
        for line in run.sheet():
            if line.step == step.id and line.key not in read:
                yield _line(view, line)


def _result(view: RunView, result: Result) -> _Row:
    judgement, limit = result.judgement, result.judgement.limit
    measure = result.measure
    recorded = view.run.state.answers.get(result.key) if result.key is not None else None
    line = view.run.line(result.key) if result.key is not None else None
    return {
        "row": "result" if result.key is None else "reading",
        "step": result.step,
        "kind": view.run.prompt(result.key).kind if result.key is not None else "",
        "channel": result.channel,
        "load": result.load,
        "point": result.point,
        "name": result.name,
        "label": result.label,
        "typed": result.typed,
        "value": result.value,
        "unit": result.unit,
        "uncertainty": measure.stated_uncertainty,
        "coverage": None if measure.is_least else measure.coverage_factor,
        "verdict": judgement.verdict.value,
        "probability": judgement.probability,
        "limit_low": limit.low if limit is not None else None,
        "limit_high": limit.high if limit is not None else None,
        "at": recorded.at if recorded is not None else None,
        "remark": line.remark if line is not None else None,
    }


def _line(view: RunView, line: SheetLine) -> _Row:
    prompt = view.run.prompt(line.key)
    kinds = {"confirm": "confirmation", "refuse": "confirmation", "skip": "skip"}
    is_answer = line.answer in ("confirm", "refuse")
    return {
        "row": kinds.get(line.answer, "note"),
        "step": line.step,
        "kind": prompt.kind,
        "channel": prompt.of.channel,
        "load": prompt.of.load,
        "point": prompt.point,
        "label": prompt.ask,
        "typed": line.typed if line.answer != "skip" else None,
        "verdict": line.as_read if is_answer else line.verdict.value,
        "at": view.run.state.answers[line.key].at,
        "remark": line.remark,
    }


def _printed(cell: _Cell) -> str | float | int:
    if isinstance(cell, float):
        # The csv module prints a float in full; a rounded one has few digits to print.
        return float(f"{cell:.{_DIGITS}g}") if math.isfinite(cell) else ""
    if cell is None:
        return ""
    return cell if isinstance(cell, int) else csv_cell(cell)
