"""The line at the top that says what is tested, and the line at the foot that says the keys."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from textual import events
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

MOST_HINTS = 6


class TopBar(Static):
    """One line: unit and procedure on the left, how far on the right."""

    def __init__(self) -> None:
        super().__init__(id="top", markup=False)
        self._left = ""
        self._right = ""

    def show(self, left: str, right: str = "") -> None:
        """Print both ends."""
        if (left, right) != (self._left, self._right):
            self._left, self._right = left, right
            self.refresh()

    def render(self) -> Content:
        """Both ends, the left one cut where they would meet."""
        room = self.size.width - cell_len(self._right) - 2
        left = self._left if cell_len(self._left) <= room else self._left[: room - 1] + "…"
        gap = " " * max(1, self.size.width - cell_len(left) - cell_len(self._right))
        return Content.assemble(
            (left, "bold"),
            gap,
            (self._right, "bold $out-of-spec" if self._right.startswith("■") else "$faint"),
        )


class Hints(Static):
    """At most six keys, chosen by what can be done now; each can be clicked."""

    class Clicked(Message):
        """A hint was clicked."""

        def __init__(self, command: str) -> None:
            self.command = command
            super().__init__()

    def __init__(self) -> None:
        super().__init__(id="hints", markup=False)
        self._hints: tuple[tuple[str, str, str], ...] = ()
        self._places: list[tuple[int, int, str]] = []

    def show(self, hints: Sequence[tuple[str, str, str]]) -> None:
        """Print hints.

        Args:
            hints: Key, word, command; an empty command cannot be clicked. The most
                important first: what does not fit is left out from the end.
        """
        shown = tuple(hints[:MOST_HINTS])
        if shown != self._hints:
            self._hints = shown
            self.refresh()

    def render(self) -> Content:
        """The hints that fit."""
        parts: list[tuple[str, str] | str] = []
        self._places = []
        at = 0
        for key, word, command in self._hints:
            length = cell_len(key) + 1 + cell_len(word)
            if at + length > self.size.width:
                break
            parts += [(key, "bold $live"), f" {word}   "]
            self._places.append((at, at + length, command))
            at += length + 3
        return Content.assemble(*parts)

    def on_click(self, event: events.Click) -> None:
        """Report the hint under the mouse."""
        for start, end, command in self._places:
            if start <= event.x < end and command:
                self.post_message(self.Clicked(command))
