"""The last result, in digits that can be read from two metres."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Digits

from stepwise.run import SheetLine
from stepwise.tui.widgets.text import StillText
from stepwise.tui.words import VERDICT_STYLES, verdict_text

_CLASSES = tuple(f"-{style}" for style in dict.fromkeys(VERDICT_STYLES.values()))


class LastResult(Vertical):
    """What was taken last, its main figure large, its verdict below."""

    WIDTH = 27
    DEFAULT_CSS = """
    LastResult { height: 5; }
    LastResult Digits { width: auto; height: 3; }
    LastResult #last-figure { height: 3; }
    LastResult #last-unit { width: 1fr; height: 3; content-align: left bottom; padding-left: 1; }
    LastResult #last-what, LastResult #last-verdict { height: 1; width: 100%; }
    """

    def __init__(self) -> None:
        super().__init__(id="last")
        self.styles.width = self.WIDTH

    def compose(self) -> ComposeResult:
        """Name, figure with unit, verdict."""
        yield StillText("last-what")
        with Horizontal(id="last-figure"):
            yield Digits("", id="last-digits")
            yield StillText("last-unit")
        yield StillText("last-verdict")

    def show(self, line: SheetLine | None) -> None:
        """Show a line, or nothing yet."""
        digits = self.query_one("#last-digits", Digits)
        unit = self.query_one("#last-unit", StillText)
        self.display = line is not None
        if line is None:
            return
        label, number, rest = split_figure(line.outcome or line.as_read)
        self.query_one("#last-what", StillText).show_text(label or line.what)
        digits.update(number)
        unit.show_text(rest)
        # In one go: styles are worked out again for each change.
        self.update_classes({name: name == f"-{VERDICT_STYLES[line.verdict]}" for name in _CLASSES})
        self.query_one("#last-verdict", StillText).show_text(verdict_text(line.verdict))


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
