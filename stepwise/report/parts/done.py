"""What was confirmed, remarked and marked."""

from __future__ import annotations

from stepwise.judge import Verdict
from stepwise.quantities import format_number, format_uncertain
from stepwise.report.content import Block, Cell, Listing, Prose, Section, Table
from stepwise.report.words import joined
from stepwise.run import Review, RunView, SheetLine, run_marks

_CONFIRMED = ("confirm", "refuse")


def confirmed(view: RunView, review: Review) -> Section | None:
    """What the operator confirmed, step by step."""
    blocks: list[Block] = []
    for step in view.run.plan.procedure.steps:
        lines = [
            line for line in review.lines if line.step == step.id and line.answer in _CONFIRMED
        ]
        if lines:
            items = tuple(confirmation(line) for line in lines)
            blocks.append(Listing(items, step.title, is_dense=True))
    return Section("confirmed", "What was confirmed", tuple(blocks)) if blocks else None


def confirmation(line: SheetLine) -> str:
    """A confirmation in words, with its remark."""
    said = f"{line.what}: answered with no" if line.answer == "refuse" else line.what
    return f"{said} ({line.remark})" if line.remark else said


def remarks(view: RunView, review: Review) -> Section | None:
    """Notes of the operator, on a reading or on the whole."""
    run = view.run
    said = []
    for line in review.lines:
        if run.prompt(line.key).kind == "note" and line.verdict is not Verdict.SKIPPED:
            said.append(f"{line.what}: {line.remark or line.typed}")
    for note in review.notes:
        beside = run.line(note.key) if note.key is not None else None
        said.append(f"{beside.what}: {note.text}" if beside is not None else note.text)
    ended = run.state.ended
    if ended is not None and ended.get("remark"):
        said.append(f"At the end: {ended['remark']}")
    attached = [
        f"Attached: {each.name}, SHA-256 {each.sha256[:16]}…" for each in run.state.attachments
    ]
    if not said and not attached:
        return None
    return Section("remarks", "Remarks", (Listing((*said, *attached)),))


def marks(view: RunView) -> Section | None:
    """The marks by the procedure's scheme; None where it has none."""
    given = run_marks(view)
    if not given.lines:
        return None
    rows = tuple(
        (
            Cell(line.criterion.name),
            Cell(line.figure, is_figure=True),
            Cell(format_number(line.criterion.weight), is_figure=True),
            Cell(line.says),
        )
        for line in given.lines
    )
    heads = ("Criterion", "Mark", "Weight", "How it came about")
    table = Table(
        "Marks out of ten, by the scheme of the procedure", heads, rows, frozenset({1, 2})
    )
    total = given.total
    if total is None:
        return Section("marks", "Marks", (Prose("Nothing was found to mark."), table))
    said = f"Altogether {format_uncertain(total, '')} out of ten"
    if given.missing:
        names = joined([line.criterion.name for line in given.missing])
        said += f", over the criteria that have a mark; none for {names}"
    return Section("marks", "Marks", (Prose(f"{said}."), table))
