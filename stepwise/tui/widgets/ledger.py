"""The ledger: one line for each reading taken, under the heads of their steps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.cache import LRUCache
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import Reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from stepwise.run import SheetLine
from stepwise.tui.widgets.columns import Columns, columns_for, fit, line_text, line_verdict
from stepwise.tui.words import VERDICT_STYLES


@dataclass(frozen=True, slots=True)
class Head:
    """The head of a step."""

    text: str
    is_ahead: bool = False
    """The step has no line yet."""


Row = Head | SheetLine

_PICKED = "▸ "
_KEPT = 256
"""Rows kept as drawn: more than any screen has."""


class Ledger(ScrollView, can_focus=False):
    """Shows rows; never holds what they mean."""

    DEFAULT_CSS = """
    Ledger { height: 1fr; min-height: 3; overflow-x: hidden; overflow-y: scroll; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "ledger--line",
        "ledger--head",
        "ledger--ahead",
        "ledger--picked",
        "ledger--in-spec",
        "ledger--out-of-spec",
        "ledger--close-call",
        "ledger--noted",
    }

    # The toolkit's own lays the whole screen out anew with every line that is added.
    virtual_size = Reactive(Size(0, 0))

    class Picked(Message):
        """A line was clicked."""

        def __init__(self, key: str) -> None:
            self.key = key
            super().__init__()

    def __init__(self) -> None:
        super().__init__(id="ledger")
        self._rows: tuple[Row, ...] = ()
        self._picked: str | None = None
        self._in_hand: str | None = None
        self._columns: Columns = columns_for(78)
        self._strips: LRUCache[tuple[Row, str, int], Strip] = LRUCache(_KEPT)
        """Rows as drawn, by what they say, their sign and their width."""

    def show(self, rows: Sequence[Row], picked: str | None, in_hand: str | None) -> None:
        """Draw these rows.

        Args:
            rows: Heads and lines from top to bottom.
            picked: Key of the line that is picked out.
            in_hand: Key of the line that is taken again just now.
        """
        self._rows = tuple(rows)
        self._picked, self._in_hand = picked, in_hand
        self._measure()
        self.refresh()
        # Before it is drawn, so that it is drawn once; where it gets another size, `on_resize`
        # reveals again.
        self._reveal()

    def scroll_by_pages(self, pages: int) -> None:
        """Scroll by whole screens, up for negative numbers."""
        self.scroll_relative(y=pages * max(1, self.size.height - 1), animate=False)

    def _reveal(self) -> None:
        """Scroll to the picked line, else to the last one taken with what comes next."""
        wanted = self._picked or self._in_hand
        here = next(
            (
                place
                for place, row in reversed(tuple(enumerate(self._rows)))
                if isinstance(row, SheetLine) and (wanted is None or row.key == wanted)
            ),
            None,
        )
        if here is not None:
            # Two rows more, so that the step to come is in sight.
            ahead = 0 if wanted else 2
            last = min(here + ahead, len(self._rows) - 1)
            region = Region(0, max(0, here - 1), 1, last - here + 2)
            self.scroll_to_region(region, animate=False, force=True)
        elif not self._picked:
            self.scroll_home(animate=False)

    def on_resize(self) -> None:
        """Share the new width among the columns."""
        self._columns = columns_for(self.scrollable_content_region.width)
        self._strips.clear()
        self._measure()
        self._reveal()

    def _measure(self) -> None:
        self.virtual_size = Size(self.scrollable_content_region.width, len(self._rows))
        self.vertical_scrollbar.window_virtual_size = len(self._rows)

    def on_click(self, event: events.Click) -> None:
        """Pick the line under the mouse."""
        place = event.y + self.scroll_offset.y
        if 0 <= place < len(self._rows):
            row = self._rows[place]
            if isinstance(row, SheetLine):
                self.post_message(self.Picked(row.key))

    def render_line(self, y: int) -> Strip:
        """One row of the glass."""
        place, width = y + self.scroll_offset.y, self.size.width
        if place >= len(self._rows):
            return Strip.blank(width, self.get_component_rich_style("ledger--line"))
        row = self._rows[place]
        sign = "" if isinstance(row, Head) else self._sign(row)
        strip = self._strips.get((row, sign, width))
        if strip is None:
            # It only moves up with the next answer.
            segments = self._head(row) if isinstance(row, Head) else self._line(row, sign)
            strip = Strip(segments).adjust_cell_length(width, segments[-1].style)
            self._strips[row, sign, width] = strip
        return strip

    def notify_style_update(self) -> None:
        """Draw again when the theme changes."""
        self._strips.clear()
        super().notify_style_update()

    def _head(self, head: Head) -> list[Segment]:
        style = self.get_component_rich_style("ledger--ahead" if head.is_ahead else "ledger--head")
        return [Segment(fit(head.text, max(1, self.size.width)), style)]

    def _sign(self, line: SheetLine) -> str:
        if line.key == self._picked:
            return _PICKED
        return "↻ " if line.key == self._in_hand else "  "

    def _line(self, line: SheetLine, sign: str) -> list[Segment]:
        style_name = "ledger--picked" if sign == _PICKED else "ledger--line"
        base = self.get_component_rich_style(style_name)
        style = self.get_component_rich_style(f"ledger--{VERDICT_STYLES[line.verdict]}")
        verdict = base + Style(color=style.color, bold=style.bold)
        return [
            Segment(sign + line_text(line, self._columns) + " ", base),
            Segment(fit(line_verdict(line), self._columns.verdict), verdict),
            Segment("", base),
        ]
