"""Every key of the test sheet, in one table: the entry obeys it, footer and help print it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

KEYPAD: Mapping[str, str] = MappingProxyType(
    {
        "decimal": ".",
        "separator": ",",
        "add": "+",
        "subtract": "-",
        "multiply": "*",
        "divide": "/",
        "equal": "=",
    }
)
"""Keys of a numeric keypad that some terminals report by name, without a character."""


@dataclass(frozen=True, slots=True)
class Command:
    """One thing the sheet does on a key."""

    id: str
    word: str
    """For the footer."""
    help: str
    keys: tuple[str, ...] = ()
    """Keys that do it at any time, as the toolkit names them."""
    typed: str = ""
    """A character that does it while the entry is empty."""
    entered: str = ""
    """Characters that do it when Enter follows."""

    @property
    def shown(self) -> str:
        """The key as the footer prints it; the keypad's way first."""
        if self.typed:
            return self.typed
        if self.entered:
            return f"{self.entered} Enter"
        return shown_key(self.keys[0])

    @property
    def all_shown(self) -> str:
        """Every way to it, for the help."""
        ways = [self.typed] if self.typed else []
        ways += [f"{self.entered} Enter"] if self.entered else []
        return ", ".join([*ways, *(shown_key(key) for key in self.keys)])


def shown_key(key: str) -> str:
    """A key's name as people write it: "Ctrl+T"."""
    special = {"pageup": "PageUp", "pagedown": "PageDown", "escape": "Esc"}
    if key in special:
        return special[key]
    return "+".join(part.capitalize() for part in key.split("+"))


# Letters that terminals, multiplexers and line editing leave alone: not Ctrl+H, I, J, M (they
# are Backspace, Tab, newline, Enter), not A, B, C, Z, and not those that edit a line.
COMMANDS: tuple[Command, ...] = (
    Command("sheet.help", "help", "why and how of this step, and these keys", ("f1",), "?"),
    Command("sheet.skip", "skip", "leave this out; asks for a reason", ("ctrl+s",), "/"),
    Command("sheet.bench", "bench", "in a rehearsal, the bench answers", ("ctrl+r",), "*"),
    Command("sheet.tone", "tone", "the tone goes on, or off", ("ctrl+t",), entered="+"),
    Command("sheet.again", "take again", "take the last reading again", entered="--"),
    Command("sheet.note", "note", "write a remark to this line", ("ctrl+n",)),
    Command("sheet.attach", "attach", "attach a photograph or a capture to this line", ("ctrl+e",)),
    Command("sheet.flags", "flags", "evidence, causes and next try of every flag", ("ctrl+f",)),
    Command("sheet.review", "review", "everything so far, and the way to the end", ("ctrl+o",)),
    Command("sheet.picture", "picture", "show or hide the curve or the trace", ("ctrl+l",)),
    Command("sheet.bell", "bell", "the bell on or off", ("ctrl+g",)),
    Command("sheet.previous", "line above", "go to an earlier line; Enter takes it again", ("up",)),
    Command("sheet.next", "line below", "go to a later line", ("down",)),
    Command("sheet.page_up", "scroll up", "scroll the sheet", ("pageup",)),
    Command("sheet.page_down", "scroll down", "scroll the sheet", ("pagedown",)),
    Command("sheet.cancel", "back", "back to the line in hand; acknowledges a stop", ("escape",)),
)  # fmt: skip
APP_KEYS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "ctrl+y": ("theme", "dark, light, high contrast"),
        "ctrl+q": ("leave", "leave; what was taken is in the log"),
    }
)
"""Keys of the whole program: word and help."""
BY_ID: Mapping[str, Command] = MappingProxyType({each.id: each for each in COMMANDS})
BY_KEY: Mapping[str, Command] = MappingProxyType(
    {key: each for each in COMMANDS for key in each.keys}
)
BY_TYPED: Mapping[str, Command] = MappingProxyType(
    {each.typed: each for each in COMMANDS if each.typed}
)
BY_ENTERED: Mapping[str, Command] = MappingProxyType(
    {each.entered: each for each in COMMANDS if each.entered}
)
