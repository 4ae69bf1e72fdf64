"""The results that are not in spec, and the sheet line by line."""

from __future__ import annotations

from stepwise.judge import Judgement, Verdict
from stepwise.report.content import Block, Cell, Listing, Section, Table, cell_of
from stepwise.report.parts.done import confirmation
from stepwise.report.tabulate import by_channel
from stepwise.run import Review, RunView, SheetLine
from stepwise.steps import StepFields

_NOT_IN_SPEC = (Verdict.OUT_OF_SPEC, Verdict.TOO_CLOSE)
_CONFIRMED = ("confirm", "refuse")


def attention(view: RunView, review: Review) -> Section | None:
    """Results that are out of spec or too close to call; None where there are none."""
    found = [each for each in review.results if each.judgement.verdict in _NOT_IN_SPEC]
    table = by_channel("Results that are not in spec", found, view.run.plan.unit.channels)
    refused = tuple(confirmation(line) for line in review.refused)
    blocks: list[Block] = [table] if table is not None else []
    if refused:
        blocks.append(Listing(refused, "Not confirmed"))
    return Section("attention", "Not in spec", tuple(blocks)) if blocks else None


def sheet(view: RunView, review: Review) -> Section:
    """Every answer with a figure, in the order of the procedure, as typed and as read."""
    rows = tuple(
        _sheet_row(step, line)
        for step in view.run.plan.procedure.steps
        for line in review.lines
        if line.step == step.id and line.answer not in _CONFIRMED
    )
    heads = ("Step", "What", "As typed", "As read", "Verdict")
    table = Table("Every reading in the order of the procedure", heads, rows, frozenset({3}))
    return Section("sheet", "The readings, one by one", (table,))


def _sheet_row(step: StepFields, line: SheetLine) -> tuple[Cell, ...]:
    judged = line.judgement if line.judgement is not None else Judgement(line.verdict)
    read = line.as_read or line.outcome or line.remark
    return (
        Cell(step.id),
        Cell(line.what),
        Cell("" if line.typed == line.remark else line.typed, is_typed=True),
        Cell(read, is_figure="±" in read),
        cell_of(judged if line.verdict is not Verdict.SKIPPED else Judgement(line.verdict)),
    )
