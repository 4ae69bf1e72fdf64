"""The application: themes, signals, and which screen stands on which. Nothing of the job itself.

The first screen stands before the rest of the program is read: a screen is imported where it is
opened, and by a thread as soon as the first one has been drawn.
"""

from __future__ import annotations

import asyncio
import gc
import signal
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.filter import LineFilter
from textual.screen import Screen
from textual.worker import get_current_worker

from stepwise.tui import theme
from stepwise.tui.no_controls import NoControls
from stepwise.tui.services import Services, Start

if TYPE_CHECKING:
    from stepwise.run import AnsweringBench, Run
    from stepwise.tui.screens.home import HomeScreen

_LATER = ("start_run", "choose", "sheet", "logs", "review", "setup")
"""Screens in the order in which a person can come to them."""

_COLLECTS = gc.get_threshold()
_COLLECT_AFTER = 20_000
"""Objects more than before after which the youngest are looked through, while a run is open: by
the interpreter's own 700 that is done twenty times for each answer."""
_NO_CONTROLS = NoControls()


class StepwiseApp(App[None]):
    """Opens where it is told to, and leaves the terminal as it was found.

    `run(mouse=False)` leaves the mouse to the terminal. `return_code` is the exit code.
    """

    TITLE = "stepwise"
    # With the first screen's own: a sheet that comes with a screen has all sheets read anew.
    CSS_PATH = ["base.tcss", "screens/home.tcss"]  # noqa: RUF012 - the toolkit declares it so
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+q", "leave", "leave", id="app.leave", priority=True),
        Binding("ctrl+y", "next_theme", "theme", id="app.theme", priority=True),
    ]

    def __init__(self, services: Services, start: Start | None = None) -> None:
        super().__init__()
        self.animation_level = "none"
        self._services = services
        self._opens = start or Start()
        self._runs: list[Run] = []
        for each in theme.themes():
            self.register_theme(each)
        # Before the style sheets are read, since a change of theme has them all read anew.
        self.theme = self._opens.theme or theme.DARK
        self.stylesheet.set_variables(self.get_css_variables())

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our colours, where a theme that is not ours is chosen."""
        return theme.defaults()

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Those of the toolkit, and ours behind them."""
        return [*super().get_line_filters(), _NO_CONTROLS]

    def get_default_screen(self) -> Screen[Any]:
        """The first screen, unless a run or a log is opened at once."""
        if self._opens.run is not None or self._opens.log is not None:
            return super().get_default_screen()
        from stepwise.tui.screens.home import HomeScreen

        return HomeScreen(self._services)

    def on_mount(self) -> None:
        """Show the first screen; import what is slow only after that."""
        self._handle_signals()
        self._open_what_is_named()
        self.call_after_refresh(self._warm_up)

    def _open_what_is_named(self) -> None:
        opens = self._opens
        if opens.run is not None:
            self._open_run(opens.run, opens.bench)
        elif opens.log is not None:
            from stepwise.tui.screens.review import ReviewScreen

            review = self._services.read_review(opens.log)
            self.push_screen(ReviewScreen(review, opens.log, self._services), self._leave_if_first)

    def _open_run(self, run: Run, bench: AnsweringBench | None) -> None:
        from stepwise.tui.screens.sheet import SheetScreen

        self._runs.append(run)
        # Most of what an answer makes is gone with the next one; the toolkit makes much more.
        gc.set_threshold(_COLLECT_AFTER, *_COLLECTS[1:])
        sheet = SheetScreen(run, self._services, bench, has_bell=self._opens.bell)
        self.push_screen(sheet)
        gc.freeze()  # a resumed run is many values at once

    def _leave_if_first(self, _: object) -> None:
        self.exit()

    def on_home_screen_opened(self, event: HomeScreen.Opened) -> None:
        """A run was started, carried on or rehearsed."""
        self._open_run(event.run, event.bench)

    def on_sheet_screen_left(self) -> None:
        """A run was left: back to where it was opened."""
        self._close_runs()
        if self._opens.run is not None:
            self.exit()
        else:
            self.pop_screen()

    def action_leave(self) -> None:
        """Leave; the sheet asks first where something is half typed."""
        if self._runs:
            from stepwise.tui.screens.sheet import SheetScreen

            if isinstance(self.screen, SheetScreen):
                self.screen.action_leave()
                return
        self.exit()

    def action_next_theme(self) -> None:
        """Dark, light, high contrast, and round again."""
        names = theme.THEMES
        place = names.index(self.theme) if self.theme in names else -1
        self.theme = names[(place + 1) % len(names)]

    def on_unmount(self) -> None:
        """Let go of the journals."""
        self._close_runs()

    def _close_runs(self) -> None:
        while self._runs:
            self._runs.pop().close()
        gc.set_threshold(*_COLLECTS)
        gc.unfreeze()

    def _warm_up(self) -> None:
        self.run_worker(self._import_the_rest, thread=True, group="warm-up")

    def _import_the_rest(self) -> None:
        """Screens first, then what the services need; a program that is left does not wait."""
        worker = get_current_worker()
        for name in _LATER:
            if worker.is_cancelled:
                return
            import_module(f"stepwise.tui.screens.{name}")
        if not worker.is_cancelled:
            self._services.warm_up()
            # What stays for good need not be looked through again while somebody types: that
            # takes longer than all else that an Enter leads to.
            gc.freeze()

    def _handle_signals(self) -> None:
        """Leave properly when the window is closed or the program is told to stop.

        Without this the terminal is left in the alternate screen with mouse codes on.
        """
        if sys.platform == "win32" or self.is_headless:
            return
        loop = asyncio.get_running_loop()
        for each in (signal.SIGTERM, signal.SIGHUP):
            loop.add_signal_handler(each, self._stop_for, each)

    def _stop_for(self, received: signal.Signals) -> None:
        self.exit(return_code=128 + received)
