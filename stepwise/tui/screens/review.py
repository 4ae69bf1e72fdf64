"""The review: everything that a run found, and what it comes to. Also the viewer of logs."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from stepwise.errors import StepwiseError
from stepwise.judge import Result, Verdict
from stepwise.quantities import format_uncertain
from stepwise.run import Review, Run, SheetLine
from stepwise.tui.screens.closing import ClosingScreen
from stepwise.tui.screens.dialogs import flag_with_evidence
from stepwise.tui.screens.reporting import choose_report
from stepwise.tui.services import Services
from stepwise.tui.widgets.bars import Hints, TopBar
from stepwise.tui.widgets.columns import fit
from stepwise.tui.widgets.limit_bar import limit_bar
from stepwise.tui.words import VERDICT_MARKS, VERDICT_STYLES, variable, verdict_text

_NAME, _FIGURE, _VERDICT = 40, 20, 24
_WIDE = 110


class ReviewScreen(ClosingScreen[None]):
    """Shows a finished review; the run behind it, where there is one, can be ended here."""

    CSS_PATH = "review.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back", id="review.back"),
        Binding("e", "end_run", "end the run", id="review.end"),
        Binding("r", "report", "report", id="review.report"),
    ]

    def __init__(
        self, review: Review, folder: Path, services: Services, run: Run | None = None
    ) -> None:
        super().__init__()
        self._review = review
        self._folder = folder
        self._services = services
        self._run = run

    def compose(self) -> ComposeResult:
        """Verdict on top, everything below it."""
        yield TopBar()
        with VerticalScroll(id="review"):
            yield Static("", id="review-text", markup=False)
        yield Static("", id="review-said", markup=False)
        yield Hints()

    def on_mount(self) -> None:
        """Print it."""
        self.query_one("#review", VerticalScroll).focus()
        self._show()

    def on_resize(self) -> None:
        """Print it for the new width."""
        self._show()

    def action_back(self) -> None:
        """Back to where it was opened."""
        self.answer(None)

    def action_end_run(self) -> None:
        """End the run; it can be carried on later all the same."""
        if self._run is None or self._run.ended:
            self._say("This run is ended" if self._run else "This log is only looked at")
            return
        try:
            self._review = self._run.end()
        except StepwiseError as error:
            self._say(str(error))
            return
        self._show()
        self._say("The run is ended. The log can be carried on from the first screen.")

    def action_report(self) -> None:
        """Write a report of this log."""
        choose_report(self, self._services, self._folder, self._say)

    def on_hints_clicked(self, event: Hints.Clicked) -> None:
        """A hint was clicked: the same as its key."""
        acts = {"back": self.action_back, "end": self.action_end_run, "report": self.action_report}
        if event.command in acts:
            acts[event.command]()

    def _say(self, sentence: str) -> None:
        self.query_one("#review-said", Static).update(Content(sentence))

    def _show(self) -> None:
        self.query_one(TopBar).show(f"Review · {self._folder.name}")
        self.query_one("#review-text", Static).update(
            review_content(self._review, self._folder, max(40, self.size.width - 6))
        )
        shown = [("Esc", "back", "back")]
        if self._run is not None and not self._run.ended:
            shown.append(("e", "end the run", "end"))
        if self._services.write_report is not None:
            shown.append(("r", "write the report", "report"))
        self.query_one(Hints).show([*shown, ("Ctrl+Q", "leave", "")])


def review_content(review: Review, folder: Path, width: int) -> Content:
    """A whole review as text.

    Args:
        review: What the run comes to.
        folder: Where its log is.
        width: Cells across; what has no room is left out rather than broken.
    """
    style = f"bold {variable(VERDICT_STYLES[review.verdict])}"
    parts = [
        Content.styled(f"{VERDICT_MARKS[review.verdict]} {review.sentence}", style),
        Content.assemble(("log  ", "$faint"), str(folder)),
    ]
    if review.results:
        parts.append(_block("Results", [_result(each, width) for each in review.results]))
    if review.flags:
        head = Content.styled("Flags", "bold")
        parts.append(Content("\n\n").join([head, *map(flag_with_evidence, review.flags)]))
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
    where = " · ".join(part for part in (result.channel, result.load) if part)
    name = f"{where} · {result.label}" if where else result.label
    judgement = result.judgement
    limit = judgement.limit
    position = limit.position(result.value) if limit is not None else None
    chance = ""
    if judgement.verdict is Verdict.TOO_CLOSE and judgement.probability is not None:
        chance = f" ({judgement.probability:.0%} inside)"
    is_wide = width >= _WIDE
    bar = f"{limit_bar(judgement, position)} " if is_wide else ""
    held = f"  {limit.text}" if limit is not None and is_wide else ""
    verdict = fit(verdict_text(judgement.verdict) + chance, _VERDICT)
    return Content.assemble(
        fit(name.replace("ohm", "Ω"), _NAME if is_wide else width - _FIGURE - _VERDICT - 2),
        " ",
        fit(format_uncertain(result.measure, result.unit), _FIGURE),
        f" {bar}",
        (verdict if is_wide else verdict.rstrip(), variable(VERDICT_STYLES[judgement.verdict])),
        (held, "$faint"),
    )


def _typed(line: SheetLine) -> Content:
    return Content.assemble(
        fit(line.what, _NAME), " ", fit(line.typed, _FIGURE), f" {line.as_read or line.remark}"
    )
