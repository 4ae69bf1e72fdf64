"""The entry: mounted once, keeps the focus, and obeys its keys within their own event.

Textual's stock `Input` inserts characters itself, but Enter and the editing keys travel as
bindings through the queues of widget, screen and app, so in a burst Enter overtakes or trails
the digits: `1⏎2⏎3.5⏎` is submitted as three times `123.5` (Textualize/textual #6605). Here
every key is carried out where it arrives, before the next one is looked at. Remove this when
the issue is closed; keep its test.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from textual import events
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive
from textual.widgets import Input

from stepwise.tui.keys import BY_KEY, BY_TYPED, KEYPAD
from stepwise.tui.reply import Mode, Reply
from stepwise.tui.session import CONFIRM_KEYS, Session
from stepwise.tui.widgets.held_key import HeldKey

_YES = frozenset("yY+")
_NO = frozenset("nN")
"""Not "-": it waits for Enter, since `--` takes the last one again."""
_EDITS: Mapping[str, str] = MappingProxyType(
    {
        "backspace": "delete_left",
        "delete": "delete_right",
        "left": "cursor_left",
        "right": "cursor_right",
        "home": "home",
        "end": "end",
        "ctrl+u": "delete_left_all",
        "ctrl+w": "delete_left_word",
    }
)
_UNPASTED = (Mode.SHUT, Mode.DOUBT, Mode.DONE)
"""Where a pasted line can be no answer."""
_SEVERAL_LINES = (
    "Several lines were pasted, and none was taken: "
    "a table of readings goes in with “stepwise transcribe”"
)


class ReadingEntry(Input):
    """Takes what is typed to the session, with the key of the prompt that it answers."""

    # The toolkit's own lays the whole screen out anew with every digit typed.
    virtual_size = Reactive(Size(0, 0))

    class Wanted(Message):
        """Something was asked for that the screen shows: help, flags, and so on."""

        def __init__(self, command: str) -> None:
            self.command = command
            """Id from the table of keys."""
            super().__init__()

    def __init__(
        self,
        session: Session,
        show_text: Callable[[str], None],
        show_reply: Callable[[str, Reply], None],
    ) -> None:
        """An entry for a session.

        What it shows elsewhere it shows within the key's event. A message would come later, and
        all would be drawn twice: once for the entry, and once for what its text leads to.

        Args:
            session: Deals with what is typed.
            show_text: Told of the text whenever it changes.
            show_reply: Told of a text that was dealt with, and of what came of it.
        """
        super().__init__(id="entry", compact=True, select_on_focus=False)
        self.session = session
        self._show_text = show_text
        self._show_reply = show_reply
        self._held_key = HeldKey()
        self.cursor_blink = False
        self._commands: Mapping[str, Callable[[], Reply | None]] = MappingProxyType(
            {
                "sheet.skip": session.skip,
                "sheet.bench": session.answer_by_bench,
                "sheet.tone": session.toggle_tone,
                "sheet.note": lambda: session.begin_note(self.value),
                "sheet.cancel": session.cancel,
                "sheet.previous": lambda: session.move(-1),
                "sheet.next": lambda: session.move(1),
            }
        )

    def watch_value(self, value: str) -> None:
        """Show what the text would be read as."""
        self._show_text(value)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Nobody above waits for it."""
        event.stop()

    async def _on_key(self, event: events.Key) -> None:
        # Textual calls Input._on_key after this one, unless the default is prevented.
        if self._obey(event):
            event.stop()
            event.prevent_default()

    def _obey(self, event: events.Key) -> bool:
        # The event's own time: a slow screen must not make a held key look like a burst.
        is_repeat = self._held_key.is_repeat(event.character or event.key, event.time)
        if event.key == "enter":
            self._enter()
            return True
        if event.key in _EDITS:
            getattr(self, f"action_{_EDITS[event.key]}")()
            return True
        if event.key in BY_KEY:
            self.command(BY_KEY[event.key].id)
            return True
        character = KEYPAD.get(event.key) or (event.character if event.is_printable else None)
        if character is None:
            return False
        if is_repeat and character in _YES and self.session.is_confirm:
            hint = f"{character} is held down: let go, read the question, press it again"
            self._show("", Reply(hint=hint, is_problem=True))
            return True
        self._type(character)
        return True

    def _enter(self) -> None:
        raw = self.value
        self._show(raw, self.session.enter(raw))

    def _type(self, character: str) -> None:
        if not self.value and self._type_command(character):
            return
        if self.value and self.session.is_confirm and character != "-":
            self._refuse(character)
            return
        if self.session.mode in (Mode.SHUT, Mode.DONE) and character not in "-+":
            hint = self.session.standing_hint()
            self._show("", Reply(hint=hint, is_problem=True))
            return
        self.replace(character, *self.selection)

    def _type_command(self, character: str) -> bool:
        """Obey a character that is a command while nothing is typed."""
        session = self.session
        if session.mode is Mode.REASON and character.isdecimal():
            self._show(character, session.choose_reason(int(character)))
            return True
        # In doubt, + * - are answers, and wait for Enter: "-3.5" typed ahead is none of them.
        if session.mode in (Mode.REASON, Mode.NOTE) or (
            session.mode is Mode.DOUBT and character != "?"
        ):
            return False
        if session.is_confirm and character in _YES | _NO:
            self._show(character, session.confirm(is_so=character in _YES))
            return True
        if character in BY_TYPED:
            self.command(BY_TYPED[character].id)
            return True
        if session.is_confirm:
            # Enter takes these: a "-" alone may become "--".
            return self._refuse(character) if character != "-" else False
        return False

    def _refuse(self, character: str) -> bool:
        """Say what answers where a yes or no is asked; nothing else is put into the line."""
        hint = f"“{character}” is no answer here: {CONFIRM_KEYS}"
        self._show("", Reply(hint=hint))
        return True

    def command(self, command: str) -> None:
        """Do what a key, or a click on its hint, stands for."""
        act = self._commands.get(command)
        if act is None:
            self.post_message(self.Wanted(command))
            return
        reply = act()
        self._show("", reply if reply is not None else Reply())

    def _show(self, raw: str, reply: Reply) -> None:
        if reply.clears:
            self.value = ""
        if reply.draft is not None:
            self.value = reply.draft
            self.action_end()
        self._show_reply(raw, reply)

    def _on_paste(self, event: events.Paste) -> None:
        event.stop()
        event.prevent_default()
        lines = [line for line in event.text.splitlines() if line.strip()]
        if len(lines) > 1:
            self._show("", Reply(hint=_SEVERAL_LINES, is_problem=True))
        elif lines and (self.session.is_confirm or self.session.mode in _UNPASTED):
            hint = "Nothing can be pasted here"
            self._show("", Reply(hint=hint, is_problem=True))
        elif lines:
            self.replace(lines[0].strip(), *self.selection)
