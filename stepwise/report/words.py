"""Small words that every form of a report shares."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from stepwise.judge import Result
from stepwise.quantities import format_uncertain

REHEARSAL = (
    "A rehearsal: nothing here was measured on a real board. Its readings are simulated or typed "
    "for practice, and its clock is the rehearsal's own."
)
"""Said of a rehearsal wherever its figures stand."""
_MINUTE = 60.0
_HOUR = 3600.0


def shown_figure(result: Result) -> str:
    """A result with its expanded uncertainty."""
    return format_uncertain(result.measure, result.unit)


def joined(words: Sequence[str]) -> str:
    """The words in a row: "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def shown_span(start: str | None, end: str | None) -> str:
    """How long it took: "12 min", "1 h 05 min"; empty where either end is missing."""
    if not start or not end:
        return ""
    seconds = (datetime.fromisoformat(end) - datetime.fromisoformat(start)).total_seconds()
    if seconds < _MINUTE:
        return f"{seconds:.0f} s"
    minutes = round(seconds / _MINUTE)
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if seconds >= _HOUR else f"{minutes} min"


def sentence(text: str) -> str:
    """The text with a full stop, unless it ends a sentence already."""
    return text if text.endswith((".", "!", "?", "…", "”")) else f"{text}."
