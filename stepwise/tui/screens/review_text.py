"""A whole review as text: the verdict first, then what was noticed, then every figure."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.cells import cell_len
from textual.content import Content

from stepwise.judge import Marks, Result
from stepwise.quantities import dotted, format_uncertain, with_signs
from stepwise.run import Review, SheetLine
from stepwise.tui.screens.dialogs import flag_with_evidence
from stepwise.tui.widgets.columns import fit
from stepwise.tui.widgets.limit_bar import limit_bar
from stepwise.tui.words import VERDICT_STYLES, grade_mark, grade_style, variable, verdict_text

_NAME, _FIGURE, _VERDICT = 40, 20, 24
_WIDE = 110


def review_content(
    review: Review, folder: Path, width: int, revealed: Sequence[str] = ()
) -> Content:
    """A whole review as text.

    Args:
        review: What the run comes to.
        folder: Where its log is.
        width: Cells across; what has no room is left out rather than broken.
        revealed: What a rehearsal had in it, a sentence or two each.
    """
    grade = review.conclusion.grade
    style = f"bold {variable(grade_style(grade))}"
    parts = [
        Content.styled(f"{grade_mark(grade)} {review.sentence}", style),
        Content.assemble(("log  ", "$faint"), str(folder)),
    ]
    if revealed:
        parts.append(_block("What was in this rehearsal", [Content(each) for each in revealed]))
    if review.marks.lines:
        parts.append(_block(_total(review.marks), _marks(review.marks, width)))
    if review.flags:
        head = Content.styled("Flags", "bold")
        parts.append(Content("\n\n").join([head, *map(flag_with_evidence, review.flags)]))
    if review.results:
        parts.append(_block("Results", [_result(each, width) for each in review.results]))
    parts.extend(_rest(review))
    return Content("\n\n").join(parts)


def _rest(review: Review) -> list[Content]:
    """What was left out, answered with no, shut, remarked, and the lines as typed."""
    blocks = []
    if review.refused:
        blocks.append(_block("Answered with no", [Content(line.what) for line in review.refused]))
    if review.skipped:
        rows = [Content(f"{line.what}: {line.remark}") for line in review.skipped]
        blocks.append(_block("Left out", rows))
    if review.closed_steps:
        rows = [Content(f"{step}, by “{ask}”") for step, ask in review.closed_steps.items()]
        blocks.append(_block("Shut by a hold point", rows))
    if review.notes:
        blocks.append(_block("Remarks", [Content(note.text) for note in review.notes]))
    if review.lines:
        blocks.append(_block("As typed", [_typed(line) for line in review.lines]))
    return blocks


def _block(head: str, rows: list[Content]) -> Content:
    return Content("\n").join([Content.styled(head, "bold"), *rows])


def _result(result: Result, width: int) -> Content:
    name = with_signs(dotted(result.channel, result.load, result.label))
    judgement = result.judgement
    limit = judgement.limit
    position = limit.position(result.value) if limit is not None else None
    is_wide = width >= _WIDE
    bar = f"{limit_bar(judgement, position)} " if is_wide else ""
    held = f"  {limit.text}" if limit is not None and is_wide else ""
    style = variable(VERDICT_STYLES[judgement.verdict])
    verdict = f"{verdict_text(judgement.verdict)}{',' if judgement.likely else ''}"
    named = fit(name, _NAME if is_wide else width - _FIGURE - _VERDICT - 2)
    figure = fit(format_uncertain(result.measure, result.unit), _FIGURE)
    before = f"{named} {figure} {bar}"
    # How likely it is stands under the verdict, since both have no room beside one another.
    likely = f"\n{' ' * cell_len(before)}  {judgement.likely}" if judgement.likely else ""
    trust = f"\n    {result.trust}" if result.trust else ""
    return Content.assemble(
        before,
        (fit(verdict, _VERDICT) if is_wide else verdict, style),
        (held, "$faint"),
        (likely, style),
        (trust, "$faint"),
    )


def _total(marks: Marks) -> str:
    if marks.span is None:
        return "Marks: nothing was found to mark"
    total = f"Marks: {marks.figure} out of ten"
    if not marks.missing:
        return total
    low, high = marks.span
    return f"{total}; what is missing could make it {low:.1f} to {high:.1f}"


def _marks(marks: Marks, width: int) -> list[Content]:
    room = max(16, width - 48)
    return [
        Content.assemble(
            fit(line.criterion.name, 28),
            " ",
            (fit(line.figure, 12), "bold"),
            (f"× {line.criterion.weight:<3} ", "$faint"),
            (fit(line.says, room).rstrip(), "$faint"),
        )
        for line in marks.lines
    ]


def _typed(line: SheetLine) -> Content:
    return Content.assemble(
        fit(line.what, _NAME), " ", fit(line.typed, _FIGURE), f" {line.as_read or line.remark}"
    )
