"""The last result, in digits that can be read from two metres."""

from __future__ import annotations

from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.renderables.digits import DIGITS, DIGITS3X3, DIGITS3X3_BOLD

from stepwise.judge import Verdict
from stepwise.run import SheetLine
from stepwise.tui.widgets.columns import line_verdict
from stepwise.tui.widgets.text import StillText
from stepwise.tui.words import VERDICT_STYLES, variable

_ROWS = 3
_PLAIN = (Verdict.NOTED, Verdict.SKIPPED)
"""Verdicts that give the digits no colour."""


class LastResult(Vertical):
    """What was taken last, its main figure large, its verdict below.

    Everything in it has a fixed place, so that a new figure moves nothing on the screen.
    """

    WIDTH = 27
    DEFAULT_CSS = """
    LastResult { height: 5; }
    LastResult #last-figure { height: 3; width: 100%; }
    LastResult #last-what, LastResult #last-verdict { height: 1; width: 100%; }
    """

    def __init__(self) -> None:
        super().__init__(id="last")
        self.styles.width = self.WIDTH

    def compose(self) -> ComposeResult:
        """Name, figure with unit, verdict."""
        yield StillText("last-what")
        yield StillText("last-figure")
        yield StillText("last-verdict")

    def show(self, line: SheetLine | None) -> None:
        """Show a line, or nothing yet."""
        self.display = line is not None
        if line is None:
            return
        label, number, rest = split_figure(line.outcome or line.as_read)
        is_plain = line.verdict in _PLAIN
        style = variable(VERDICT_STYLES[line.verdict])
        digits = "$ink" if is_plain else f"bold {style}"
        self.query_one("#last-what", StillText).show_text(label or line.what)
        figure = big_figure(number, rest, self.WIDTH - 2, digits)
        self.query_one("#last-figure", StillText).show_text(figure)
        verdict = Content.styled(line_verdict(line), style if is_plain else f"bold {style}")
        self.query_one("#last-verdict", StillText).show_text(verdict)


def big_figure(number: str, rest: str, width: int, style: str) -> Content:
    """A number in digits of three rows, and what follows it small beside their foot.

    Args:
        number: Digits, a point, a sign.
        rest: Uncertainty and unit.
        width: Cells across.
        style: Of the digits; bold ones are drawn bold.
    """
    rows = _digit_rows(number, DIGITS3X3_BOLD if "bold" in style else DIGITS3X3)
    room = width - len(rows[0]) - 1
    beside = wrap(rest, room)[:_ROWS] if room > 0 else []
    beside = [""] * (_ROWS - len(beside)) + beside
    return Content("\n").join(
        Content.assemble((row, style), f" {text}") for row, text in zip(rows, beside, strict=True)
    )


def _digit_rows(number: str, font: list[str]) -> list[str]:
    rows = [""] * _ROWS
    for character in number.replace(".", "•"):
        place = DIGITS.find(character) * _ROWS
        for row in range(_ROWS):
            small = character if row == _ROWS - 1 else " "
            rows[row] += font[place + row].ljust(3) if place >= 0 else small
    return rows


def split_figure(text: str) -> tuple[str, str, str]:
    """Split a printed figure: "Clean power 50.0 ± 1.2 W" into label, "50.0" and "± 1.2 W".

    Text without a figure comes back whole as the rest.
    """
    words = text.split(" ")
    # The figure is what the uncertainty follows; a label may hold numbers of its own.
    place = words.index("±") - 1 if "±" in words else _last_number(words)
    if place < 0 or not _is_number(words[place]):
        return "", "", text
    return " ".join(words[:place]), words[place], " ".join(words[place + 1 :])


def _last_number(words: list[str]) -> int:
    return max((place for place, word in enumerate(words) if _is_number(word)), default=-1)


def _is_number(word: str) -> bool:
    digits = word.lstrip("-+")
    return bool(digits) and digits.replace(".", "", 1).isdecimal()
