"""Keys of screens with several fields: none may overtake what was typed before it.

The toolkit hands letters to the field in front, which deals with them in its own time, while Tab
and Ctrl+S travel another way and may be there first: `Amber⇥left` went whole into one field.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.binding import Binding
from textual.screen import Screen

NEXT_FIELD = (
    # With priority they act before the next letter is handed to anybody.
    Binding("tab", "app.focus_next", "next field", show=False, priority=True, id="form.next"),
    Binding(
        "shift+tab", "app.focus_previous", "field before", show=False, priority=True,
        id="form.previous",
    ),
)  # fmt: skip


def after_what_was_typed(screen: Screen[Any], act: Callable[[], None]) -> None:
    """Act when the field in front has dealt with the letters that were typed before."""
    (screen.focused or screen).call_later(act)
