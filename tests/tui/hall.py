"""The hall's bench for the tests of the screens: runs, services, and fast typing."""

from __future__ import annotations

import asyncio
import itertools
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from textual import events
from textual.app import App
from textual.pilot import Pilot

from stepwise.errors import FileProblems, JournalError, Problem
from stepwise.procedure import procedures_folder, read_bench_text, read_unit_text
from stepwise.rehearsal import RehearsalBench, bench_text, unit_text
from stepwise.run import Plan, Review, Run, plan_from_texts
from stepwise.tui import Choice, FileKind, LogEntry, RunChoice, Services, Start, StepwiseApp
from stepwise.tui.screens.sheet import SheetScreen
from stepwise.tui.session import Session
from stepwise.tui.widgets.echo import EchoLine

FIRST_LOOK = (procedures_folder() / "first-look.toml").read_text(encoding="utf-8")
SMALL = """\
[procedure]
title = "Small"
revision = 1
summary = "small"
[[step]]
id = "safe"
kind = "confirm"
title = "Make the bench safe"
caution = ["Mains can kill"]
hold = true
items = ["Feed isolated and fused", "Loudspeakers off, loads on"]
[[step]]
id = "idle"
kind = "readings"
title = "Quiescent volts"
why = "A board that idles wrongly fails when it is driven."
how = "No signal. Meter on DC."
readings = [
 { name = "rail_plus", ask = "Positive rail", unit = "V", meter = "dc", limit = { max = "45 V" } },
 { name = "rail_minus", ask = "Negative rail", unit = "V", meter = "dc" },
 { name = "hum", ask = "Hum", unit = "mV", optional = true },
]
[[step]]
id = "clip"
kind = "clip"
title = "Clean power"
repeat = ["load"]
on_time = "15 s"
rest = "30 s"
[step.limits]
power = { min = "10 W" }
[[step]]
id = "sweep"
kind = "sweep"
title = "Response"
points = ["1 kHz", "100 Hz", "30 Hz", "20 Hz", "10 kHz", "40 kHz"]
reference_again = false
band = ["20 Hz", "20 kHz"]
[step.limits]
level_db = { min = "-3 dB", max = "1 dB" }
[[step]]
id = "ears"
kind = "note"
title = "Listening"
notes = [{ name = "sound", ask = "How does it sound" }]
"""


class TestClock:
    """A clock that stands until a test moves it."""

    __test__ = False

    def __init__(self) -> None:
        self.now = datetime(2026, 5, 2, 9, 30, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def pass_seconds(self, seconds: float) -> None:
        """Move on."""
        self.now += timedelta(seconds=seconds)


def make_plan(procedure: str = SMALL, name: str = "small", unit: str | None = None) -> Plan:
    """A plan for board Teal on the hall's bench."""
    return plan_from_texts(procedure, unit or unit_text(), bench_text(), name)


def make_bench(plan: Plan, *faults: tuple[str, float]) -> RehearsalBench:
    """A simulated bench that answers for the plan."""
    return RehearsalBench(7, plan.unit, plan.bench, faults)


@dataclass
class Hall:
    """Services over a folder, with a record of what was asked of them."""

    folder: Path
    clock: TestClock = field(default_factory=TestClock)
    procedure: str = SMALL
    saved: dict[str, str] = field(default_factory=dict)
    started: list[RunChoice] = field(default_factory=list)
    reports: list[Path] = field(default_factory=list)

    def run(self, **more: object) -> Run:
        """A fresh run."""
        plan = make_plan(self.procedure)
        return Run.start(plan, self.folder, self.clock, operator="QH", **more)  # type: ignore[arg-type]

    def services(self) -> Services:
        """All services, on this folder."""
        return Services(
            clock=self.clock,
            logs=self.folder,
            list_procedures=lambda: (Choice("small", "Small", "small"),),
            list_units=lambda: (Choice("teal", "Teal [/] [red]x", "48 W"),),
            list_benches=lambda: (Choice("hall", "Hall workshop"),),
            list_bench_logs=lambda: (),
            list_logs=self._logs,
            start_run=self._start,
            resume_run=lambda folder: (Run.resume(folder, self.clock), None),
            rehearsal_run=self._rehearse,
            read_review=self._review,
            read_toml=self._read,
            save_toml=self._save,
            check_toml=check,
            write_report=self._report,
        )

    def _logs(self) -> tuple[LogEntry, ...]:
        return tuple(
            LogEntry(each, each.name) for each in sorted(self.folder.iterdir(), reverse=True)
        )

    def _start(self, choice: RunChoice) -> Run:
        self.started.append(choice)
        return self.run()

    def _rehearse(self) -> tuple[Run, RehearsalBench]:
        run = self.run(rehearsal={"seed": 7})
        return run, make_bench(run.plan)

    def _review(self, folder: Path) -> Review:
        with Run.resume(folder, self.clock) as run:
            return run.review()

    def _read(self, kind: FileKind, name: str) -> str:
        return self.saved.get(name) or (unit_text() if kind is FileKind.UNIT else bench_text())

    def _save(self, kind: FileKind, name: str, text: str) -> Path:
        if name == "full":
            raise JournalError(self.folder, "no space left on the disk")
        self.saved[name] = text
        return self.folder / f"{name}.toml"

    def _report(self, folder: Path, kind: str = "html") -> Path:
        self.reports.append(folder)
        return folder / "report.html"


def check(kind: FileKind, text: str) -> tuple[Problem, ...]:
    """Everything wrong with a text."""
    read = read_unit_text if kind is FileKind.UNIT else read_bench_text
    try:
        read(text, kind.value)
    except FileProblems as error:
        return error.problems
    return ()


_NAMES = {"⇥": "tab", "§": "ctrl+s", "⏎": "enter", "⌫": "backspace", "⇡": "up", "⎋": "escape"}


_moments = itertools.count()


async def type_burst(pilot: Pilot[None], keys: str) -> None:
    """Press keys without waiting between them, as a scanner or a fast hand does.

    They come in one moment, and a second after the burst before: how long a machine takes
    between two keys says nothing of the hand.
    """
    await type_at(pilot, keys, float(next(_moments)))


async def type_at(pilot: Pilot[None], keys: str, at: float, apart: float = 0.0) -> None:
    """Press keys at a moment [s], each so many seconds after the one before."""
    app: App[None] = pilot.app
    for place, key in enumerate(keys):
        name = _NAMES.get(key, key)
        event = events.Key(name, None if name != key else key)
        event.time = at + apart * place
        app.post_message(event)
    for _ in range(3):
        await pilot.pause()


ActOnSheet = Callable[[Pilot[None], Session], Coroutine[Any, Any, None]]
"""What a test does at the sheet, with the keys and with what the sheet holds."""


def on_sheet(
    hall: Hall,
    run: Run,
    act: ActOnSheet,
    size: tuple[int, int] = (80, 24),
    *,
    bench: RehearsalBench | None = None,
) -> StepwiseApp:
    """Open the sheet on a run, act on it, and close the program."""
    app = StepwiseApp(hall.services(), Start(run=run, bench=bench))

    async def go() -> None:
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            screen = app.screen
            assert isinstance(screen, SheetScreen)
            await asyncio.wait_for(act(pilot, screen.session), 60)

    asyncio.run(go())
    return app


Act = Callable[[Pilot[None], SheetScreen], Coroutine[Any, Any, None]]
"""What a test does at the sheet, with its screen."""


def on_screen(
    hall: Hall, run: Run, act: Act, size: tuple[int, int] = (80, 24), *, rehearses: bool = False
) -> StepwiseApp:
    """Open the sheet on a run and act on its screen."""
    bench = make_bench(run.plan, ("small-coupling-capacitor", 0.7)) if rehearses else None

    async def at_screen(pilot: Pilot[None], session: Session) -> None:
        await act(pilot, pilot.app.screen)  # type: ignore[arg-type]

    return on_sheet(hall, run, at_screen, size, bench=bench)


def glass(pilot: Pilot[None]) -> str:
    """All that can be read on the screen."""
    width, height = pilot.app.size
    strips = pilot.app.screen._compositor.render_strips()
    assert len(strips) == height
    return "\n".join(strip.crop(0, width).text for strip in strips)


def typed(run: Run) -> list[tuple[str, str]]:
    """What is recorded: key and text."""
    return [(line.key, line.typed) for line in run.sheet()]


def said(pilot: Pilot[None]) -> str:
    """The sentence below the entry."""
    return str(pilot.app.screen.query_one(EchoLine).render())
