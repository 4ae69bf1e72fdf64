"""The flags with their evidence, one at a time, and the way to the reading to take again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from stepwise.judge import Flag
from stepwise.tui.screens.closing import ClosingModal
from stepwise.tui.screens.dialogs import flag_with_evidence
from stepwise.tui.words import SEVERITY_STYLES, place_text, severity_text, variable

_CLOSING = ("q", "ctrl+f")
_MOST_OF_SCREEN, _MOST_ROWS = 0.94, 7
"""Share of the screen that the dialog may take, and rows of it that the list may; as styled."""


class FlagsScreen(ClosingModal[str | None]):
    """Answers with the key of the prompt to take again, or None."""

    DEFAULT_CSS = """
    FlagsScreen { align: center middle; }
    FlagsScreen > Vertical { width: 94%; max-width: 104; height: auto; max-height: 94%; }
    FlagsScreen OptionList { height: auto; max-height: 7; margin-bottom: 1; }
    FlagsScreen VerticalScroll { height: auto; }
    FlagsScreen OptionList:focus { background-tint: $card 0%; }
    FlagsScreen #flag-detail { height: auto; }
    FlagsScreen #flag-keys {
        height: 1; margin-top: 1; text-wrap: nowrap; text-overflow: ellipsis;
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "close", "close", id="flags.close"),
        Binding("pagedown", "turn(1)", "more", id="flags.down", priority=True),
        Binding("pageup", "turn(-1)", "back", id="flags.up", priority=True),
    ]

    def __init__(self, flags: Sequence[Flag], questions: Mapping[str, str]) -> None:
        """Show flags.

        Args:
            flags: Newest first.
            questions: Prompt key -> what it asks, for the prompts that can be taken again.
        """
        super().__init__()
        self._flags = tuple(flags)
        self._questions = questions

    def compose(self) -> ComposeResult:
        """The list above, the flag picked out below it."""
        with Vertical(classes="dialog"):
            if self._flags:
                yield OptionList(*(Option(_row(flag)) for flag in self._flags), markup=False)
            with VerticalScroll(can_focus=False):
                yield Static("Nothing out of the ordinary so far.", id="flag-detail", markup=False)
            yield Static("", id="flag-keys", markup=False)

    def on_mount(self) -> None:
        """The newest is open."""
        if self._flags:
            self.query_one(OptionList).focus()
        self._show(0)

    def on_resize(self) -> None:
        """The evidence scrolls in what the frame, the list and the keys leave to it."""
        frame = self.query_one(Vertical)
        most = int(self.size.height * _MOST_OF_SCREEN) - frame.gutter.height
        rows = min(len(self._flags), _MOST_ROWS) + 1 if self._flags else 0
        self.query_one(VerticalScroll).styles.max_height = max(3, most - rows - 2)

    def on_key(self, event: events.Key) -> None:
        """Close on the key that opened; it must not act again on the sheet below."""
        if event.key in _CLOSING or (event.key == "enter" and not self._flags):
            event.stop()
            event.prevent_default()
            self.answer(None)

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Another flag is looked at."""
        self._show(event.option_index)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take the reading again that the flag names first."""
        event.stop()
        key = self._again(self._flags[event.option_index])
        if key is not None:
            self.answer(key)

    def action_close(self) -> None:
        """Back to the sheet."""
        self.answer(None)

    def action_turn(self, pages: int) -> None:
        """Scroll the evidence."""
        scroll = self.query_one(VerticalScroll)
        scroll.scroll_relative(y=pages * max(1, scroll.size.height - 1), animate=False)

    def _again(self, flag: Flag) -> str | None:
        return next((key for key in flag.keys if key in self._questions), None)

    def _show(self, place: int) -> None:
        keys = Content.assemble(("Esc ", "bold $live"), "closes   ")
        if place < len(self._flags):
            flag = self._flags[place]
            self.query_one("#flag-detail", Static).update(flag_with_evidence(flag))
            self.query_one(VerticalScroll).scroll_home(animate=False)
            again = self._again(flag)
            if again is not None:
                takes = f"takes “{self._questions[again]}” again"
                keys = Content.assemble(keys, ("Enter ", "bold $live"), takes)
        self.query_one("#flag-keys", Static).update(keys)


def _row(flag: Flag) -> Content:
    style = variable(SEVERITY_STYLES[flag.severity])
    place = place_text(flag)
    return Content.assemble(
        (severity_text(flag.severity).ljust(9), f"bold {style}"),
        (flag.name, "bold"),
        (f"  {place}" if place else "", "$faint"),
    )
