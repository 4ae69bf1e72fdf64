"""The logs: filtered as one types, sorted by any result, looked at, compared, ranked, reported."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import DataTable, Static

from stepwise.errors import StepwiseError
from stepwise.journal import shown_instant
from stepwise.tui.screens.closing import ClosingScreen
from stepwise.tui.screens.compare import CompareScreen
from stepwise.tui.screens.ranking import RankingScreen
from stepwise.tui.screens.reporting import choose_report
from stepwise.tui.screens.review import ReviewScreen
from stepwise.tui.services import Services
from stepwise.tui.widgets.bars import Hints, TopBar
from stepwise.tui.widgets.filters import Filters
from stepwise.tui.words import grade_mark

if TYPE_CHECKING:
    from stepwise.archive import Found, LogRow, Query

_HINTS = (
    ("Esc", "back", "back"),
    ("Enter", "look", "look"),
    ("Space", "pick", "pick"),
    ("c", "compare picked", "compare"),
    ("k", "rank", "rank"),
    ("r", "report", "report"),
)


class LogsScreen(ClosingScreen[None]):
    """Lists what the archive knows of the logs."""

    CSS_PATH = "logs.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back", id="logs.back"),
        Binding("space", "pick", "pick", id="logs.pick"),
        Binding("c", "compare", "compare", id="logs.compare"),
        Binding("k", "rank", "rank", id="logs.rank"),
        Binding("r", "report", "report", id="logs.report"),
    ]

    class Answered(Message):
        """The archive answered a query."""

        def __init__(self, query: Query, found: Found | None, problem: str) -> None:
            self.query = query
            self.found = found
            self.problem = problem
            super().__init__()

    def __init__(self, services: Services) -> None:
        super().__init__()
        self._services = services
        self._rows: tuple[LogRow, ...] = ()
        self._picked: list[str] = []
        """Identities, in the order in which they were picked."""
        self._asked: Query | None = None

    def compose(self) -> ComposeResult:
        """Filters above, logs below."""
        yield TopBar()
        yield Filters()
        with Vertical(id="logs-frame"):
            table: DataTable[Text] = DataTable(cursor_type="row", zebra_stripes=False)
            yield table
        yield Static("", id="logs-said", markup=False)
        yield Hints()

    def on_mount(self) -> None:
        """All logs, newest first."""
        self.query_one(TopBar).show("Logs", str(self._services.logs))
        self.query_one(Hints).show(_HINTS)
        self.query_one(DataTable).focus()
        self._ask()

    def on_screen_resume(self) -> None:
        """A report or a run may have come since."""
        self.query_one(TopBar).show("Logs", str(self._services.logs))

    def on_filters_changed(self, event: Filters.Changed) -> None:
        """Another filter: ask again."""
        event.stop()
        self._ask()

    def on_filters_left(self, event: Filters.Left) -> None:
        """Down to the list."""
        event.stop()
        self.query_one(DataTable).focus()

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Enter: look at the log."""
        event.stop()
        self._with_log(self._look)

    def on_key(self, event: events.Key) -> None:
        """Up from the first log goes to the filters."""
        table = self.query_one(DataTable)
        if event.key == "up" and table.has_focus and table.cursor_row == 0:
            event.stop()
            self.query_one(Filters).enter()

    def on_hints_clicked(self, event: Hints.Clicked) -> None:
        """A hint was clicked: the same as its key."""
        acts: dict[str, Callable[[], None]] = {
            "back": self.action_back,
            "look": lambda: self._with_log(self._look),
            "pick": self.action_pick,
            "compare": self.action_compare,
            "rank": self.action_rank,
            "report": self.action_report,
        }
        acts[event.command]()

    def action_back(self) -> None:
        """Back to the first screen."""
        self.answer(None)

    def action_pick(self) -> None:
        """Pick the log under the cursor for comparing, or put it back."""
        row = self._row()
        if row is None:
            return
        if row.identity in self._picked:
            self._picked.remove(row.identity)
        else:
            self._picked.append(row.identity)
        self._fill(keep=self.query_one(DataTable).cursor_row)
        self._say(f"{len(self._picked)} picked; c lays them side by side, the first picked first")

    def action_compare(self) -> None:
        """Lay the picked logs side by side."""
        by_identity = {row.identity: row for row in self._rows}
        folders = [
            folder
            for identity in self._picked
            if (row := by_identity.get(identity)) is not None and (folder := row.folder) is not None
        ]
        compare = self._services.compare_logs
        if compare is None:
            self._say("Nothing is compared here")
        elif len(folders) < 2:
            self._say("Pick two logs or more with the space bar; they must be in this list")
        else:
            self._trying(lambda: self.app.push_screen(CompareScreen(compare(folders))))

    def action_rank(self) -> None:
        """Where the unit stands among all that were tested."""
        rank = self._services.rank_log
        if rank is None:
            self._say("Nothing is ranked here")
            return
        self._with_log(lambda folder: self.app.push_screen(RankingScreen(rank(folder))))

    def action_report(self) -> None:
        """Write a report of the log."""
        self._with_log(lambda folder: choose_report(self, self._services, folder, self._say))

    def _look(self, folder: Path) -> None:
        review = self._services.read_review(folder)
        self.app.push_screen(ReviewScreen(review, folder, self._services))

    def _with_log(self, act: Callable[[Path], object]) -> None:
        row = self._row()
        if row is None:
            return
        folder = row.folder
        if folder is None:
            self._say("This log lies on another bench's computer; only its figures are here")
        else:
            self._trying(lambda: act(folder))

    def _trying(self, act: Callable[[], object]) -> None:
        try:
            act()
        except StepwiseError as error:
            self._say(str(error))

    def _row(self) -> LogRow | None:
        place = self.query_one(DataTable).cursor_row
        return self._rows[place] if 0 <= place < len(self._rows) else None

    # Asking the archive

    def _ask(self) -> None:
        find = self._services.find_logs
        if find is None:
            self._say("There is no archive here")
            return
        try:
            query = self.query_one(Filters).query_made()
        except StepwiseError as error:
            self._say(str(error))
            return
        self._asked = query
        self.run_worker(lambda: self._find(query), thread=True, group="find", exclusive=True)

    def _find(self, query: Query) -> None:
        found, problem = None, ""
        try:
            found = self._services.find_logs(query) if self._services.find_logs else None
        except StepwiseError as error:
            problem = str(error)
        self.post_message(self.Answered(query, found, problem))

    def on_logs_screen_answered(self, event: Answered) -> None:
        """Show it, unless something else was asked meanwhile."""
        if event.query is not self._asked:
            return
        if event.found is None:
            self._say(event.problem)
            return
        self._rows = event.found.rows
        self._fill(keep=0)
        count = len(self._rows)
        more = " and more: narrow the filter" if event.found.more else ""
        self._say(f"{count} log{'' if count == 1 else 's'}{more}" if count else "No log is so")

    def on_resize(self) -> None:
        """Share the width anew."""
        self._fill(keep=self.query_one(DataTable).cursor_row)

    def _fill(self, *, keep: int) -> None:
        table = self.query_one(DataTable)
        table.clear(columns=True)
        columns = _columns(self.size.width, has_figure=any(row.figure for row in self._rows))
        for column in columns:
            table.add_column(column.head, width=column.width)
        for row in self._rows:
            table.add_row(*(Text(_cell(row, each.name, self._picked)) for each in columns))
        if self._rows:
            table.move_cursor(row=min(max(keep, 0), len(self._rows) - 1), animate=False)

    def _say(self, sentence: str) -> None:
        self.query_one("#logs-said", Static).update(Content(sentence))


@dataclass(frozen=True, slots=True)
class _Column:
    name: str
    head: str
    width: int


def _columns(width: int, *, has_figure: bool) -> list[_Column]:
    """What has room, the gravest first; the flags get what is left."""
    columns = [
        _Column("picked", "", 2),
        _Column("began", "begun, UTC", 16),
        _Column("unit", "unit", 12),
        _Column("verdict", "verdict", 20),
    ]
    if has_figure:
        columns.append(_Column("figure", "sorted by", 18))
    if width >= 110:
        columns.insert(3, _Column("procedure", "procedure", 14))
    if width >= 140:
        columns.insert(4, _Column("episode", "episode", 18))
    used = sum(each.width + 2 for each in columns)
    left = width - used - 4
    if left >= 10:
        columns.append(_Column("flags", "flags", left))
    return columns


def _cell(row: LogRow, name: str, picked: Sequence[str]) -> str:
    match name:
        case "picked":
            return f"{picked.index(row.identity) + 1}" if row.identity in picked else ""
        case "began":
            return shown_instant(row.began).removesuffix(" UTC")  # its heading says UTC
        case "verdict":
            return _state(row)
        case "figure":
            return row.figure.text if row.figure is not None else ""
        case "flags":
            return ", ".join(row.flags)
        case _:
            return str(getattr(row, name))


def _state(row: LogRow) -> str:
    """What became of it; what was not ended has no sign."""
    whole = row.conclusion
    if row.problem:
        return f"! {row.problem}"
    return row.verdict if whole is None else f"{grade_mark(whole.grade)} {whole.brief}"
