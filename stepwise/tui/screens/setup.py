"""The form of a unit with its claims, or of a bench."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.timer import Timer
from textual.widget import Widget
from textual.widgets import Button, Input, Label, Static

from stepwise.errors import Problem, StepwiseError
from stepwise.tui.form import FORMS, Place, Table, Values, on_form, read_form, turns_of, write_form
from stepwise.tui.screens.closing import ClosingScreen
from stepwise.tui.screens.form_keys import NEXT_FIELD, after_what_was_typed
from stepwise.tui.services import FileKind, Services
from stepwise.tui.widgets.bars import Hints, TopBar

_CHECK_AFTER = 0.3
"""Seconds of no typing after which the form is checked."""


class FormField(Vertical):
    """Label and entry, and below them, over the whole width, what is wrong."""

    def __init__(self, place: Place, label: str, example: str, value: str) -> None:
        super().__init__(classes="form-field")
        self.place = place
        self._label = label
        self._example = example
        self._value = value

    def compose(self) -> ComposeResult:
        """One line, and another where something is wrong."""
        shown = f"such as {self._example}" if self._example else ""
        with Horizontal(classes="form-line"):
            yield Label(self._label, classes="form-label", markup=False)
            yield Input(self._value, placeholder=shown, compact=True, select_on_focus=False)
        yield Label("", classes="form-problem", markup=False)

    @property
    def value(self) -> str:
        """What is typed."""
        return self.query_one(Input).value

    def complain(self, sentence: str) -> None:
        """Say what is wrong, or nothing."""
        self.set_class(bool(sentence), "-wrong")
        self.query_one(".form-problem", Label).update(f"! {sentence}" if sentence else "")


_NEEDED = (("meter", "meter"), ("load", "dummy load"))
"""Tables of a bench without which hardly a procedure can be run."""


class SetupScreen(ClosingScreen[None]):
    """Reads a TOML file into fields, checks while they are filled, writes the file."""

    CSS_PATH = "setup.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "save", "save", id="setup.save", priority=True),
        Binding("escape", "back", "back", id="setup.back"),
        *NEXT_FIELD,
    ]

    def __init__(self, kind: FileKind, name: str, text: str, services: Services) -> None:
        super().__init__()
        self._kind = kind
        self._name = name
        self._services = services
        self._values, self._strange = read_form(kind, text)
        self._saved = dict(self._values)
        self._leaves = False
        self._check_soon: Timer | None = None

    def compose(self) -> ComposeResult:
        """All tables of the form."""
        yield TopBar()
        with VerticalScroll(id="form", can_focus=False):
            for table in FORMS[self._kind]:
                with Vertical(id=f"table-{table.name}", classes="form-table"):
                    for number in range(turns_of(table, self._values)):
                        yield from _turn(table, number, self._values)
                if table.many:
                    yield Button(f"One more: {table.title}", id=f"more-{table.name}", compact=True)
        yield Static("", id="setup-said", markup=False)
        yield Hints()

    def on_mount(self) -> None:
        """Say what is edited, and check it as it is."""
        self.query_one(TopBar).show(f"Set up a {self._kind}", self._name or "new")
        self.query_one(Hints).show(
            [("Esc", "back", "back"), ("Ctrl+S", "save", "save"), ("Tab", "next field", "")]
        )
        if self._strange:
            names = ", ".join(self._strange)
            self._say(f"The form does not know, and would not keep: {names}")
        self.query(Input).first().focus()
        if self._name:
            self._check()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Check, once the typing pauses."""
        event.stop()
        self._leaves = False
        if self._check_soon is not None:
            self._check_soon.stop()
        self._check_soon = self.set_timer(_CHECK_AFTER, self._check)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes to the next field."""
        event.stop()
        self.focus_next()

    def on_button_pressed(self, event: Button.Pressed) -> None:
        """One more claim, meter or load."""
        event.stop()
        name = (event.button.id or "").removeprefix("more-")
        table = next(each for each in FORMS[self._kind] if each.name == name)
        taken = [field.place[1] for field in self.query(FormField) if field.place[0] == name]
        self.query_one(f"#table-{name}").mount(*_turn(table, max(taken) + 1, {}))

    def on_hints_clicked(self, event: Hints.Clicked) -> None:
        """A hint was clicked: the same as its key."""
        if event.command == "save":
            self.action_save()
        elif event.command == "back":
            self.action_back()

    def action_save(self) -> None:
        """Write the file, with the last letter typed."""
        after_what_was_typed(self, self._save)

    def _save(self) -> None:
        """Write the file; what is wrong with it is said, and nothing is written."""
        written = write_form(self._kind, self._read())
        if self._check():
            self._say("Not saved: see what is marked")
            return
        name = self._name or self._read().get((self._kind.value, 0, "name"), "").strip()
        try:
            path = self._services.save_toml(self._kind, name, written.text)
        except StepwiseError as error:
            self._say(f"Not saved: {error}")
            return
        self._saved = self._read()
        self._say(f"Saved: {path}{self._what_is_missing()}")

    def _what_is_missing(self) -> str:
        """What a bench is of no use without; it may be written all the same."""
        if self._kind is not FileKind.BENCH:
            return ""
        filled = {name for (name, _, _), text in self._read().items() if text}
        missing = [word for name, word in _NEEDED if name not in filled]
        return f"; no run can use it before it has a {' and a '.join(missing)}" if missing else ""

    def action_back(self) -> None:
        """Back; a second Esc where something would be lost."""
        filled = {place: text for place, text in self._read().items() if text}
        saved = {place: text for place, text in self._saved.items() if text}
        if filled != saved and not self._leaves:
            self._leaves = True
            self._say("Not saved yet: Ctrl+S saves, Esc once more leaves it")
            return
        self.answer(None)

    def _read(self) -> Values:
        return {field.place: field.value for field in self.query(FormField)}

    def _check(self) -> tuple[Problem, ...]:
        """Show every problem beside its field; those of no field below."""
        written = write_form(self._kind, self._read())
        problems = self._services.check_toml(self._kind, written.text)
        said: dict[Place, str] = {}
        rest: list[str] = []
        for each in problems:
            place = written.lines.get(each.line or 0)
            if place is None:
                sentence = f"{each.what}; {each.remedy}" if each.remedy else each.what
                rest.append(f"{each.where}: {sentence}" if each.where else sentence)
            else:
                said.setdefault(*on_form(self._kind, place, each.what, each.remedy))
        for field in self.query(FormField):
            field.complain(said.get(field.place, ""))
        self._say("\n".join(rest))
        return problems

    def _say(self, sentence: str) -> None:
        self.query_one("#setup-said", Static).update(Content(sentence))


def _turn(table: Table, number: int, values: Values) -> Iterator[Widget]:
    head = f"{table.title} {number + 1}" if table.many else table.title
    yield Static(Content.styled(head, "bold"), classes="form-head", markup=False)
    yield from _fields(table, number, values)


def _fields(table: Table, number: int, values: Values) -> Iterable[FormField]:
    for each in table.fields:
        place = (table.name, number, each.key)
        yield FormField(place, each.label, each.example, values.get(place, ""))
