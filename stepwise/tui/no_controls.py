"""The last door before the glass: no character of anybody's text speaks to the terminal."""

from __future__ import annotations

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from stepwise.safe_text import is_obeyed


class NoControls(LineFilter):
    """Leaves out characters that take no room and would be obeyed.

    Names and remarks come from files of strangers, and the toolkit hands on what they hold.
    Every line that is drawn passes here, whichever widget it comes from.
    """

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """The same segments, without such characters."""
        if all(segment.text.isprintable() for segment in segments):
            return segments
        return [
            Segment(_shown(segment.text), segment.style, segment.control) for segment in segments
        ]


def _shown(text: str) -> str:
    return "".join(each for each in text if not is_obeyed(each))
