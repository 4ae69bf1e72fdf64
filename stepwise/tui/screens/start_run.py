"""The form that starts a run: procedure, unit, bench, who, and for what."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Button, Input, Label, Select, Static

from stepwise.tui.screens.closing import ClosingModal
from stepwise.tui.screens.form_keys import NEXT_FIELD, after_what_was_typed
from stepwise.tui.services import Choice, RunChoice


class StartRunScreen(ClosingModal[RunChoice | None]):
    """Answers with what was chosen, or None."""

    DEFAULT_CSS = """
    StartRunScreen { align: center middle; }
    StartRunScreen > VerticalScroll { width: 90%; max-width: 84; height: auto; max-height: 96%; }
    StartRunScreen Label { height: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "give_up", "back", id="start.back"),
        Binding("f5,ctrl+s", "start", "start", id="start.start"),
        *NEXT_FIELD,
    ]

    def __init__(
        self,
        procedures: Sequence[Choice],
        units: Sequence[Choice],
        benches: Sequence[Choice],
        bench_logs: Sequence[Choice] = (),
    ) -> None:
        """Offer what there is.

        Args:
            procedures: To run.
            units: To test.
            benches: To test at.
            bench_logs: Logs whose response of the bench can be taken off every sweep.
        """
        super().__init__()
        self._bench_logs = bench_logs
        self._lists = {"procedure": procedures, "unit": units, "bench": benches}

    def compose(self) -> ComposeResult:
        """Three lists, two lines, one button."""
        with VerticalScroll(classes="dialog", can_focus=False):
            yield Static(Content.styled("Start a run", "bold"), markup=False)
            for word, choices in self._lists.items():
                yield Label(word.capitalize(), markup=False)
                yield Select(
                    [(_title(each), each.name) for each in choices],
                    id=f"start-{word}",
                    allow_blank=False,
                    compact=True,
                )
            if self._bench_logs:
                yield Label("The bench's own response, taken off every sweep", markup=False)
                yield Select(
                    [(_title(each), each.name) for each in self._bench_logs],
                    id="start-bench-log",
                    prompt="none",
                    compact=True,
                )
            yield Label("Operator, initials are enough", markup=False)
            yield Input(id="start-operator", compact=True)
            yield Label("Episode: what this belongs to, or nothing", markup=False)
            yield Input(id="start-episode", compact=True)
            yield Button("Start (Ctrl+S)", id="start-button", compact=True)
            yield Static("", id="start-said", markup=False)

    def on_button_pressed(self, event: Button.Pressed) -> None:
        """The button."""
        event.stop()
        self.action_start()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes to the next field."""
        event.stop()
        self.focus_next()

    def action_start(self) -> None:
        """Start, with the last letter typed."""
        after_what_was_typed(self, self._start)

    def _start(self) -> None:
        """Start, unless what was chosen has something wrong with it."""
        chosen = {word: str(self.query_one(f"#start-{word}", Select).value) for word in self._lists}
        for word, choices in self._lists.items():
            choice = next((each for each in choices if each.name == chosen[word]), None)
            if choice is not None and choice.problem:
                self.query_one("#start-said", Static).update(Content(choice.problem))
                return
        operator, episode = (
            self.query_one(f"#start-{name}", Input).value.strip()
            for name in ("operator", "episode")
        )
        self.answer(
            RunChoice(**chosen, operator=operator, episode=episode, bench_log=self._bench_log())
        )

    def _bench_log(self) -> str:
        for select in self.query("#start-bench-log").results(Select):
            return "" if select.is_blank() else str(select.value)
        return ""

    def action_give_up(self) -> None:
        """Nothing is started."""
        self.answer(None)


def _title(choice: Choice) -> Content:
    wrong = "  ! has problems" if choice.problem else ""
    return Content(f"{choice.title}{wrong}")
