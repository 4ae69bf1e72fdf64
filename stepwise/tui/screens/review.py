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
from stepwise.run import AnsweringBench, Review, Run
from stepwise.tui.screens.closing import ClosingScreen
from stepwise.tui.screens.dialogs import EndDialog, still_open
from stepwise.tui.screens.reporting import choose_report
from stepwise.tui.screens.review_text import review_content
from stepwise.tui.services import Services
from stepwise.tui.widgets.bars import Hints, TopBar


class ReviewScreen(ClosingScreen[None]):
    """Shows a finished review; the run behind it, where there is one, can be ended here."""

    CSS_PATH = "review.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back", id="review.back"),
        Binding("e", "end_run", "end the run", id="review.end"),
        Binding("r", "report", "report", id="review.report"),
    ]

    def __init__(
        self,
        review: Review,
        folder: Path,
        services: Services,
        run: Run | None = None,
        bench: AnsweringBench | None = None,
    ) -> None:
        """Show a review.

        Args:
            review: What the run comes to.
            folder: Where its log is.
            services: What can be asked for.
            run: The run itself, where it is open.
            bench: The simulated bench of a rehearsal; it tells at the end what was in it.
        """
        super().__init__()
        self._bench = bench
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
        """End the run, at once where nothing is open; it can be carried on later all the same."""
        if self._run is None or self._run.ended:
            self._say("This run is ended" if self._run else "This log is only looked at")
        elif still_open(self._review):
            self.app.push_screen(EndDialog(self._review, self._resume()), self._end_if)
        else:
            self._end_if(True)

    def _end_if(self, is_meant: bool | None) -> None:
        if self._run is None or not is_meant:
            return
        try:
            self._review = self._run.end()
        except StepwiseError as error:
            self._say(str(error))
            return
        self._show()
        self._say(f"The run is ended; “{self._resume()}” opens it again.")

    def action_report(self) -> None:
        """Write a report of this log."""
        choose_report(self, self._services, self._folder, self._say)

    def on_hints_clicked(self, event: Hints.Clicked) -> None:
        """A hint was clicked: the same as its key."""
        acts = {"back": self.action_back, "end": self.action_end_run, "report": self.action_report}
        if event.command in acts:
            acts[event.command]()

    def _revealed(self) -> tuple[str, ...]:
        """What a rehearsal had in it: told when it is over, never before."""
        run, bench = self._run, self._bench
        if run is None or bench is None or not (run.ended or run.is_complete()):
            return ()
        return bench.reveal(run)

    def _resume(self) -> str:
        return self._services.resume_command(self._folder)

    def _say(self, sentence: str) -> None:
        self.query_one("#review-said", Static).update(Content(sentence))

    def _show(self) -> None:
        self.query_one(TopBar).show(f"Review · {self._folder.name}")
        self.query_one("#review-text", Static).update(
            review_content(
                self._review, self._folder, max(40, self.size.width - 6), self._revealed()
            )
        )
        shown = [("Esc", "back", "back")]
        if self._run is not None and not self._run.ended:
            shown.append(("e", "end the run", "end"))
        if self._services.write_report is not None:
            shown.append(("r", "write the report", "report"))
        self.query_one(Hints).show([*shown, ("Ctrl+Q", "leave", "")])
