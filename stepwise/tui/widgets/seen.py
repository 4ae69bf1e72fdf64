"""What was noticed: the column of flags, the one line that stands for it, and the stop banner."""

from __future__ import annotations

from collections.abc import Sequence
from time import monotonic

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content

from stepwise.judge import Flag
from stepwise.tui.widgets.text import StillText, Text
from stepwise.tui.words import SEVERITY_STYLES, place_text, severity_text, variable

_SEEN_AFTER = 1.0
"""Seconds a banner stands before a plain Enter may acknowledge it: typed ahead is not seen."""


def flag_content(flag: Flag) -> Content:
    """A flag in a few lines: severity, name, place, what was seen, what to try."""
    style = variable(SEVERITY_STYLES[flag.severity])
    place = place_text(flag)
    return Content.assemble(
        (severity_text(flag.severity), f"bold {style}"),
        (f"  {flag.name}", "bold"),
        (f"\n{place}" if place else "", "$faint"),
        f"\n{flag.says}",
        (f"\n→ {flag.next_try}" if flag.next_try else "", "$live"),
    )


class Seen(VerticalScroll, can_focus=False):
    """*Seen so far*: flags, newest first."""

    DEFAULT_CSS = """
    Seen { width: 34; height: 1fr; padding: 0 1; }
    """

    def __init__(self) -> None:
        super().__init__(id="seen")
        self._shown: tuple[list[Flag], tuple[str, ...]] | None = None

    def compose(self) -> ComposeResult:
        """One text holds them all."""
        yield Text("seen-text")

    def show(self, flags: Sequence[Flag], unlike: tuple[str, ...] = ()) -> None:
        """Print the flags given, newest first.

        Args:
            flags: What was noticed.
            unlike: Lines of the sheet that are not as they should be, in words.
        """
        if self._shown != (list(flags), unlike):
            self._shown = list(flags), unlike
            self._print(flags, unlike)
        if self.scroll_y:
            self.scroll_home(animate=False)

    def _print(self, flags: Sequence[Flag], unlike: tuple[str, ...]) -> None:
        parts = [Content.styled(f"Seen so far · {len(flags)}", "bold $faint")]
        parts += [flag_content(flag) for flag in flags]
        parts += [Content.styled(words, "$out-of-spec") for words in unlike]
        if len(parts) == 1:
            parts.append(Content.styled("Nothing out of the ordinary.", "$faint"))
        self.query_one("#seen-text", Text).show_text(Content("\n\n").join(parts))


class SeenLine(StillText):
    """The newest flag in one line, where the column has no room."""

    def __init__(self) -> None:
        super().__init__("seen-line")

    def show(self, flags: Sequence[Flag]) -> None:
        """Print the newest, and where all is told that can be done."""
        self.display = bool(flags)
        if flags:
            newest = flags[0]
            style = variable(SEVERITY_STYLES[newest.severity])
            # What to do and what it is about come first: the sentence is cut where it must be.
            place = place_text(newest)
            more = f"; {len(flags)} flags" if len(flags) > 1 else ""
            self.show_text(
                Content.assemble(
                    (f"{severity_text(newest.severity)} ", f"bold {style}"),
                    (f"{newest.name}{f' · {place}' if place else ''} ", "bold"),
                    (f"(Ctrl+F: what to try{more}) ", "$live"),
                    newest.says,
                )
            )


class StopBanner(Text):
    """A `stop`, across the whole width, until somebody says that it was seen."""

    def __init__(self) -> None:
        super().__init__("stop")
        self.display = False
        self._since = 0.0
        self._flag: Flag | None = None

    def was_seen(self) -> bool:
        """Whether it has stood long enough to have been seen."""
        return bool(self.display) and monotonic() - self._since >= _SEEN_AFTER

    def show(self, flag: Flag | None) -> None:
        """Shout a flag, or be gone."""
        if flag is not None and (self._flag is None or flag.identity != self._flag.identity):
            self._since = monotonic()
        self._flag = flag
        self.display = flag is not None
        if flag is not None:
            place = place_text(flag)
            self.show_text(
                Content.assemble(
                    (f"■ STOP · {flag.name}{' · ' + place if place else ''}", "bold"),
                    "   Esc: seen",
                    f"\n{flag.says}",
                    (f"\n→ {flag.next_try}", "bold") if flag.next_try else "",
                )
            )
