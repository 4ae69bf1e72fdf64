"""A list to choose one thing from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from stepwise.tui.screens.closing import ClosingModal


class ChooseScreen(ClosingModal[int | None]):
    """Answers with the place of what was chosen, or None."""

    DEFAULT_CSS = """
    ChooseScreen { align: center middle; }
    ChooseScreen > Vertical { width: 90%; max-width: 90; height: auto; max-height: 90%; }
    ChooseScreen OptionList { height: auto; max-height: 20; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "give_up", "back", id="choose.back"),
    ]

    def __init__(self, question: str, rows: Sequence[tuple[str, str]]) -> None:
        super().__init__()
        self._question = question
        self._rows = tuple(rows)

    def compose(self) -> ComposeResult:
        """The question and the rows, each with a line about it."""
        with Vertical(classes="dialog"):
            yield Static(Content.styled(self._question, "bold"), markup=False)
            yield OptionList(*(_option(*row) for row in self._rows), markup=False)
            yield Static(Content.styled("Enter chooses, Esc goes back", "$faint"), markup=False)

    def on_mount(self) -> None:
        """The list has the keys."""
        self.query_one(OptionList).focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Chosen."""
        event.stop()
        self.answer(event.option_index)

    def action_give_up(self) -> None:
        """Nothing is chosen."""
        self.answer(None)


def _option(title: str, detail: str) -> Option:
    return Option(Content.assemble((title, "bold"), (f"\n  {detail}" if detail else "", "$faint")))
