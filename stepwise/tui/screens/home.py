"""The first screen: start a run, carry one on, look at a log, rehearse, set up."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from stepwise.errors import StepwiseError
from stepwise.tui.services import Choice, FileKind, LogEntry, RunChoice, Services
from stepwise.tui.widgets.bars import Hints, TopBar

if TYPE_CHECKING:
    from stepwise.run import AnsweringBench, Run

_ENTRIES = (
    ("start", "Start a run", "one unit, one procedure, one bench"),
    ("resume", "Carry on a run", "exactly where it stopped"),
    ("logs", "Look at logs", "find, compare, rank, report"),
    ("rehearse", "Rehearse", "a simulated bench, nothing to switch on"),
    ("unit", "Set up a unit", "its channels, ratings, and what its seller claims"),
    ("bench", "Set up a bench", "meters, loads, supply, and how well each is known"),
)


class HomeScreen(Screen[None]):
    """Six things to do; a digit or Enter does one."""

    CSS_PATH = "home.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(str(number), f"do('{name}')", word, id=f"home.{name}", show=False)
        for number, (name, word, _) in enumerate(_ENTRIES, start=1)
    ]

    class Opened(Message):
        """A run is open and wants its sheet."""

        def __init__(self, run: Run, bench: AnsweringBench | None = None) -> None:
            self.run = run
            self.bench = bench
            super().__init__()

    def __init__(self, services: Services) -> None:
        super().__init__()
        self._services = services

    def compose(self) -> ComposeResult:
        """What the program is, and what it can do."""
        yield TopBar()
        yield Static(
            Content.assemble(
                ("stepwise", "bold $live"),
                "\nLeads one person through testing an audio power amplifier,\n"
                "judges every reading, and keeps a record that stands.",
            ),
            id="home-says",
            markup=False,
        )
        yield OptionList(
            *(_option(number, *entry) for number, entry in enumerate(_ENTRIES, start=1)),
            id="home-list",
            markup=False,
        )
        yield Static("", id="home-said", markup=False)
        yield Hints()

    def on_mount(self) -> None:
        """The list has the keys."""
        self.query_one(OptionList).focus()
        self.query_one(TopBar).show("stepwise", f"logs: {self._services.logs}")
        self.query_one(Hints).show(
            [("Ctrl+Q", "leave", ""), ("1-6 Enter", "choose", ""), ("Ctrl+Y", "theme", "")]
        )

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter, or a click."""
        if event.option_id is not None:
            self.action_do(event.option_id)

    def action_do(self, name: str) -> None:
        """Do one of the six."""
        self._say("")
        acts: dict[str, Callable[[], None]] = {
            "start": self._start,
            "resume": self._resume,
            "logs": self._look,
            "rehearse": self._rehearse,
            "unit": lambda: self._set_up(FileKind.UNIT),
            "bench": lambda: self._set_up(FileKind.BENCH),
        }
        try:
            acts[name]()
        except StepwiseError as error:
            self._say(str(error))

    def _start(self) -> None:
        services = self._services
        lists = (services.list_procedures(), services.list_units(), services.list_benches())
        for word, found in zip(("procedure", "unit", "bench"), lists, strict=True):
            if not found:
                self._say(f"There is no {word} yet; set one up first")
                return
        from stepwise.tui.screens.start_run import StartRunScreen

        self.app.push_screen(StartRunScreen(*lists, services.list_bench_logs()), self._begin)

    def _begin(self, choice: RunChoice | None) -> None:
        if choice is not None:
            self._open(lambda: (self._services.start_run(choice), None))

    def _resume(self) -> None:
        logs = [each for each in self._services.list_logs() if not each.is_finished]
        if not logs:
            self._say("No run is unfinished")
            return

        def carry_on(place: int | None) -> None:
            if place is not None:
                folder = logs[place].folder
                self._open(lambda: self._services.resume_run(folder))

        self._choose("Carry on which run?", _rows(logs), carry_on)

    def _look(self) -> None:
        from stepwise.tui.screens.logs import LogsScreen

        self.app.push_screen(LogsScreen(self._services))

    def _rehearse(self) -> None:
        self._open(self._services.rehearsal_run)

    def _open(self, opening: Callable[[], tuple[Run, AnsweringBench | None]]) -> None:
        try:
            run, bench = opening()
        except StepwiseError as error:
            self._say(str(error))
            return
        self.post_message(self.Opened(run, bench))

    def _set_up(self, kind: FileKind) -> None:
        listed = self._services.list_units if kind is FileKind.UNIT else self._services.list_benches
        known = listed()
        new = Choice("", f"A new {kind}", "an empty form")
        rows = [(each.title, each.problem or each.detail) for each in (new, *known)]

        def edit(place: int | None) -> None:
            if place is not None:
                name = known[place - 1].name if place else ""
                self._edit(kind, name)

        self._choose(f"Set up which {kind}?", rows, edit)

    def _choose(
        self, title: str, rows: list[tuple[str, str]], then: Callable[[int | None], None]
    ) -> None:
        from stepwise.tui.screens.choose import ChooseScreen

        self.app.push_screen(ChooseScreen(title, rows), then)

    def _edit(self, kind: FileKind, name: str) -> None:
        from stepwise.tui.screens.setup import SetupScreen

        try:
            text = self._services.read_toml(kind, name) if name else ""
            screen = SetupScreen(kind, name, text, self._services)
        except StepwiseError as error:
            self._say(str(error))
            return
        self.app.push_screen(screen)

    def _say(self, sentence: str) -> None:
        self.query_one("#home-said", Static).update(Content(sentence))


def _option(number: int, name: str, word: str, says: str) -> Option:
    prompt = Content.assemble(
        (f" {number}  ", "bold $live"), (word.ljust(18), "bold"), (says, "$faint")
    )
    return Option(prompt, id=name)


def _rows(logs: tuple[LogEntry, ...] | list[LogEntry]) -> list[tuple[str, str]]:
    return [(each.title, each.problem or each.detail) for each in logs]
