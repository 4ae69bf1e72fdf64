"""Everything that was not done, with its reason."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from stepwise.report.content import Block, Cell, Listing, Prose, Section, Table
from stepwise.run import Review, Run, RunView


def left_out(view: RunView, review: Review) -> Section:
    """Everything that was not done, with its reason."""
    blocks: list[Block] = []
    rows = tuple(_skips(view.run, review))
    if rows:
        blocks.append(Table("Left out by the operator", ("Step", "What", "Reason"), rows))
    titles = {step.id: step.title for step in view.run.plan.procedure.steps}
    closed = tuple(
        f"{titles.get(step, step)}: closed by the hold point “{asked}”"
        for step, asked in review.closed_steps.items()
    )
    undone = tuple(_not_done(view, review))
    for heading, items in (("Closed", closed), ("Not done", undone)):
        if items:
            blocks.append(Listing(items, heading))
    if not blocks:
        blocks.append(Prose("Nothing was left out: everything that the procedure asks was done."))
    return Section("left-out", "What was left out", tuple(blocks))


def _skips(run: Run, review: Review) -> Iterator[tuple[Cell, ...]]:
    """Prompts left out one after another for one reason share a row."""
    titles = {step.id: step.title for step in run.plan.procedure.steps}
    for (step, reason), group in groupby(review.skipped, key=lambda line: (line.step, line.remark)):
        lines = list(group)
        yield Cell(titles.get(step, step)), Cell("; ".join(e.what for e in lines)), Cell(reason)


def _not_done(view: RunView, review: Review) -> Iterator[str]:
    answered = {line.key for line in review.lines}
    for step in view.run.plan.procedure.steps:
        asked = [each for each in view.run.prompts if each.step == step.id]
        left = [each for each in asked if each.key not in answered]
        if left and step.id not in review.closed_steps:
            how_many = "" if len(left) == len(asked) else f": {len(left)} of {len(asked)}"
            yield f"{step.title}{how_many}"
