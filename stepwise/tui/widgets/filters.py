"""The filters of the list of logs: one field each, all of them must hold."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.suggester import SuggestFromList
from textual.widget import Widget
from textual.widgets import Input, Label

from stepwise.errors import StepwiseError

if TYPE_CHECKING:
    from stepwise.archive import Query

_FIELDS = (
    (("text", "any words"), ("unit", "unit"), ("episode", "episode"), ("procedure", "procedure")),
    (("verdict", "verdict"), ("flag", "flag"), ("since", "from"), ("until", "to"),
     ("sort", "sort by")),
)  # fmt: skip
_SHOWN_MOST = 200
_SORTS = (
    "began", "unit", "episode", "procedure", "verdict", "mark", "power@8 ohm", "power@4 ohm",
    "claim_ratio", "sag", "corner_low", "minus_3db_low", "minus_3db_high", "flatness",
    "source_impedance", "damping_factor", "signal_to_noise", "final_temperature", "price",
)  # fmt: skip


class FilterError(StepwiseError):
    """A filter that is no date."""


class Filters(Widget):
    """Two rows of short fields."""

    class Changed(Message):
        """A filter is not what it was."""

    class Left(Message):
        """The person goes down to the list."""

    def __init__(self) -> None:
        super().__init__(id="filters")

    def compose(self) -> ComposeResult:
        """A word and a field, side by side."""
        from stepwise.archive import VERDICTS

        suggested = {"verdict": VERDICTS, "sort": _SORTS}
        for row in _FIELDS:
            with Horizontal():
                for name, word in row:
                    yield Label(word, markup=False)
                    known = suggested.get(name)
                    yield Input(
                        id=f"filter-{name}",
                        compact=True,
                        placeholder={"since": "2026-05-02", "until": "2026-05-02"}.get(name, ""),
                        suggester=SuggestFromList(known, case_sensitive=False) if known else None,
                    )

    def enter(self) -> None:
        """The first field has the keys."""
        self.query_one("#filter-text", Input).focus()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Every letter asks anew."""
        event.stop()
        self.post_message(self.Changed())

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes to the list."""
        event.stop()
        self.post_message(self.Left())

    def on_key(self, event: events.Key) -> None:
        """Down goes to the list."""
        if event.key == "down":
            event.stop()
            self.post_message(self.Left())

    def query_made(self) -> Query:
        """What the fields ask for.

        Raises:
            FilterError: A day is no date.
        """
        from stepwise.archive import Query

        return Query(
            text=self._value("text"),
            unit=self._value("unit"),
            episode=self._value("episode"),
            procedure=self._value("procedure"),
            verdict=self._verdict(),
            flag=self._value("flag"),
            since=self._day("since"),
            until=self._day("until"),
            sort=self._value("sort") or "began",
            limit=_SHOWN_MOST,
        )

    def _value(self, name: str) -> str:
        return self.query_one(f"#filter-{name}", Input).value.strip()

    def _verdict(self) -> str:
        """The one verdict that begins as typed; half a word filters nothing yet."""
        from stepwise.archive import VERDICTS

        typed = self._value("verdict").casefold()
        meant = [each for each in VERDICTS if typed and each.startswith(typed)]
        return meant[0] if len(meant) == 1 else ""

    def _day(self, name: str) -> date | None:
        typed = self._value(name)
        if len(typed) < len("2026-05-02"):
            return None  # still being typed
        try:
            return date.fromisoformat(typed)
        except ValueError:
            raise FilterError(f"“{typed}” is no day; write it as 2026-05-02") from None
