"""Attaching a file to the line in hand: a photograph, or a capture that answers by itself."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.suggester import Suggester
from textual.widgets import Input, Static

from stepwise.run import Proposal
from stepwise.tui.screens.closing import ClosingModal


class AttachScreen(ClosingModal[Path | None]):
    """Answers with the file that is to be attached, or None."""

    DEFAULT_CSS = """
    AttachScreen { align: center middle; }
    AttachScreen > Vertical { width: 90%; max-width: 90; height: auto; }
    AttachScreen Input { margin: 1 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "give_up", "back", id="attach.back"),
    ]

    def __init__(self, ask: str, *, takes_capture: bool) -> None:
        """Ask for a file.

        Args:
            ask: What the line in hand asks.
            takes_capture: Whether a capture could answer it.
        """
        super().__init__()
        self._ask = ask
        self._takes_capture = takes_capture

    def compose(self) -> ComposeResult:
        """One question, one field."""
        says = "A copy is kept beside the journal."
        if self._takes_capture:
            says += " A capture of the oscilloscope (CSV: time, volts) is read into answers."
        with Vertical(classes="dialog"):
            yield Static(
                Content.assemble((f"Attach which file to: {self._ask}", "bold"), f"\n{says}"),
                markup=False,
            )
            yield Input(
                placeholder="path of the file; the right arrow completes it",
                suggester=Paths(),
                compact=True,
            )
            yield Static("", id="attach-said", markup=False)
            yield Static(Content.styled("Enter attaches, Esc goes back", "$faint"), markup=False)

    def on_mount(self) -> None:
        """The field has the keys."""
        self.query_one(Input).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """The file, where there is one."""
        event.stop()
        path = Path(event.value.strip()).expanduser()
        if event.value.strip() and path.is_file():
            self.answer(path)
        else:
            missing = f"“{path}” is a folder" if path.is_dir() else f"There is no file “{path}”"
            said = missing if event.value.strip() else "Type a path"
            self.query_one("#attach-said", Static).update(Content.styled(said, "$close-call"))

    def action_give_up(self) -> None:
        """Nothing is attached."""
        self.answer(None)


class Paths(Suggester):
    """Completes a path by what is in the folder."""

    def __init__(self) -> None:
        super().__init__(use_cache=False, case_sensitive=True)

    async def get_suggestion(self, value: str) -> str | None:
        """The first name that goes on as typed."""
        folder, _, start = value.rpartition("/")
        looked_in = Path(f"{folder}/" if "/" in value else ".").expanduser()
        try:
            names = sorted(
                each.name + ("/" if each.is_dir() else "")
                for each in looked_in.iterdir()
                if each.name.startswith(start) and not each.name.startswith(".")
            )
        except OSError:
            return None  # no such folder yet: still being typed
        before = value[: len(value) - len(start)]
        return before + names[0] if names and value else None


class ProposalScreen(ClosingModal[bool]):
    """What a capture offers: taken as a whole, or left."""

    DEFAULT_CSS = """
    ProposalScreen { align: center middle; }
    ProposalScreen > VerticalScroll { width: 92%; max-width: 96; height: auto; max-height: 92%; }
    """

    def __init__(self, proposal: Proposal, questions: dict[str, str]) -> None:
        """Show a proposal.

        Args:
            proposal: What the capture shows, and the answers it offers.
            questions: Prompt key -> what it asks.
        """
        super().__init__()
        self._proposal = proposal
        self._questions = questions

    def compose(self) -> ComposeResult:
        """What it shows, and each answer."""
        rows = [
            Content.assemble(
                (f" {self._questions.get(line.key, line.key)}  ", "$faint"),
                (line.text, "bold"),
                (f"  {line.echo}", "$live"),
            )
            for line in self._proposal.lines
        ]
        parts = [Content.styled("The capture is kept. It shows:", "bold")]
        parts += [Content(self._proposal.says), Content("\n").join(rows)]
        take = "take these answers" if rows else "go on"
        keys = Content.assemble(
            ("y + ", "bold $live"), f"{take}   ", ("n - Esc ", "bold $live"), "none"
        )
        with VerticalScroll(classes="dialog", can_focus=True):
            yield Static(Content("\n\n").join([*parts, keys]), markup=False)

    def on_mount(self) -> None:
        """Arrow keys scroll at once."""
        self.query_one(VerticalScroll).focus()

    def on_key(self, event: events.Key) -> None:
        """One key answers, and goes no farther."""
        if event.key in ("y", "plus", "add"):
            event.stop()
            self.answer(True)
        elif event.key in ("n", "minus", "subtract", "escape"):
            event.stop()
            self.answer(False)
