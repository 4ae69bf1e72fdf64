"""What a person waits for: a key's echo, the verdict with its flags, and the next question.

    python -m tests.benchmarks.keys [--readings 300] [--answers 100]

The real sheet, without a terminal, late in a run of that many readings (a six-channel board on
the simulated bench). Milliseconds from the key's event to the moment that the screen has drawn
what came of it: as a clock tells them, and of the processor alone, which holds on a machine that
does other things too. A hand rests before Enter, and what it typed is worked out meanwhile; a
scanner does not, so both are told, and how long a key has to wait that comes in the middle of
that. The disk's fsync is measured beside it in the same run. Prints, asserts nothing.
"""

from __future__ import annotations

import argparse
import asyncio
import itertools
import os
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from statistics import median, quantiles
from typing import Any
from unittest.mock import patch

from rich.console import RenderableType
from textual import events
from textual.screen import Screen
from textual.widget import Widget

from stepwise.cli.services import services
from stepwise.rehearsal import RehearsalBench
from stepwise.run import Run, Status
from stepwise.tui import Start, StepwiseApp
from stepwise.tui.screens.sheet import SheetScreen
from stepwise.tui.session import Session
from tests.benchmarks.fast_clock import Clock, no_disk
from tests.benchmarks.run_speed import six_channel_plan

ANSWERS = 100
WANTED = 16.0
FRAME = 1 / 60
"""The toolkit draws at most so often [s]."""
STILL = 3
"""Frames without a draw after which nothing more is to come."""
PATIENCE = 10.0
"""Seconds."""
_MOMENTS = itertools.count()

Spans = list[tuple[float, float]]
"""By the clock and of the processor, each [ms]."""


def filled(run: Run, bench: RehearsalBench, readings: int) -> None:
    """Answer until so many readings are taken."""
    with no_disk():
        while (prompt := run.next_prompt()) is not None and run.blocked() is None:
            if sum(each.kind == "reading" for each in run.state.answers.values()) >= readings:
                break
            text = bench.answer(prompt, run.card(prompt.key))
            if text is None:
                run.skip(prompt.key, "not on this bench")
            elif run.take(prompt.key, text).status is Status.DOUBTED:
                run.take(prompt.key, text, sure=True)


class Draws:
    """The moments at which a program drew."""

    def __init__(self, app: StepwiseApp) -> None:
        self.last = (0.0, 0.0)
        """By the clock and of the processor [s]."""
        self.verdict = (0.0, 0.0)
        """The last draw before the next question was put on the screen: all flags stand then."""
        self._display = app._display
        app._display = self._note  # type: ignore[method-assign]

    def _note(self, screen: Screen[Any], renderable: RenderableType | None) -> None:
        self._display(screen, renderable)
        self.last = time.perf_counter(), time.thread_time()

    def watch(self, screen: SheetScreen) -> None:
        """Note from now on when the verdict stood."""
        ask = screen._show_asked

        def asking() -> None:
            self.verdict = self.last
            ask()

        screen._show_asked = asking  # type: ignore[method-assign]


async def drawn(
    entry: Widget, draws: Draws, key: str, character: str | None
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Milliseconds until the verdict, and until all that follows from a key, is drawn.

    The screen is drawn again for what comes later, such as the next question. So for all of it
    the moment of the last draw counts, once some frames have passed without any.
    """
    began = time.perf_counter(), time.thread_time()
    event = events.Key(key, character)
    event.time = float(next(_MOMENTS))  # no key is held down, however fast the screen was drawn
    entry.post_message(event)
    still = 0
    while still < STILL:
        last = draws.last
        await asyncio.sleep(FRAME)
        still = still + 1 if draws.last == last and last[0] > began[0] else 0
        assert time.perf_counter() - began[0] < PATIENCE, f"{key} draws nothing"
    # Where nothing was drawn before the next question, the verdict came with it.
    verdict = draws.verdict if draws.verdict[0] > began[0] else draws.last
    return _since(began, verdict), _since(began, draws.last)


def _since(began: tuple[float, float], moment: tuple[float, float]) -> tuple[float, float]:
    return 1e3 * (moment[0] - began[0]), 1e3 * (moment[1] - began[1])


async def measured(
    app: StepwiseApp, bench: RehearsalBench, times: int
) -> tuple[Spans, Spans, Spans]:
    """Keys, verdicts, and the questions after them."""
    keys: Spans = []
    verdicts: Spans = []
    questions: Spans = []
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        await app.workers.wait_for_complete()
        screen = app.screen
        assert isinstance(screen, SheetScreen)
        session = screen.session
        entry, draws = screen.query_one("#entry"), Draws(app)
        draws.watch(screen)
        while len(verdicts) < times and (prompt := session.prompt) is not None:
            text = bench.answer(prompt, session.run.card(prompt.key)) or "/"
            if session.is_confirm or text == "/":
                await drawn(entry, draws, *(("y", "y") if session.is_confirm else ("slash", "/")))
                if session.key == prompt.key:
                    await drawn(entry, draws, "1", "1")
                continue
            keys += [(await drawn(entry, draws, each, each))[1] for each in text]
            verdict, question = await drawn(entry, draws, "enter", None)
            verdicts.append(verdict)
            questions.append(question)
            if session.mode.value == "doubt":
                await drawn(entry, draws, "+", "+")
                await drawn(entry, draws, "enter", None)
    return keys, verdicts, questions


def syncs(folder: Path, times: int = 50) -> list[float]:
    """What one write and its fsync take on this disk."""
    taken = []
    descriptor = os.open(folder / "bare", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    for _ in range(times):
        began = time.perf_counter()
        os.write(descriptor, b"x" * 2000 + b"\n")
        os.fsync(descriptor)
        taken.append(1e3 * (time.perf_counter() - began))
    os.close(descriptor)
    return taken


@dataclass(frozen=True, slots=True)
class Figures:
    """Everything that was measured."""

    keys: Spans
    verdicts: Spans
    questions: Spans
    ahead: Spans
    """What is worked out while the hand rests."""
    at_once: Spans
    """Verdicts where Enter came with the last digit."""
    sync: float
    """What 95 of 100 fsyncs stay below [ms]."""
    peak: float
    """Most memory [MB]."""


def figures(readings: int, times: int) -> Figures:
    """Measure as many answers as a hand types them, and again as a scanner does."""
    with tempfile.TemporaryDirectory() as name:
        ahead: Spans = []
        with patch.object(Session, "foresee", _timed(Session.foresee, ahead)):
            keys, verdicts, questions = late_in_a_run(Path(name), readings, times)
        with patch.object(Session, "foresee", lambda *_: None):
            _, at_once, _ = late_in_a_run(Path(name), readings, times)
        sync = p95(syncs(Path(name)))
    # Kilobytes on Linux, bytes on macOS.
    unit = 1 << 20 if sys.platform == "darwin" else 1 << 10
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
    return Figures(keys, verdicts, questions, ahead, at_once, sync, peak)


def late_in_a_run(logs: Path, readings: int, times: int) -> tuple[Spans, Spans, Spans]:
    """Keys, verdicts and questions of the last answers of a run."""
    plan = six_channel_plan()
    bench = RehearsalBench(1, plan.unit, plan.bench)
    run = Run.start(plan, logs, Clock())
    filled(run, bench, readings - times)
    app = StepwiseApp(services(logs), Start(run=run))
    # Each second the tone's clock draws as well; no key leads to that.
    with patch.object(SheetScreen, "_tick", lambda _: None):
        spans = asyncio.run(measured(app, bench, times))
    run.close()
    return spans


def _timed(function: Callable[[Session, str], None], spans: Spans) -> Callable[..., None]:
    def timed(session: Session, text: str) -> None:
        began = time.perf_counter(), time.thread_time()
        function(session, text)
        spans.append(_since(began, (time.perf_counter(), time.thread_time())))

    return timed


def p95(taken: Iterable[float]) -> float:
    """What 95 of 100 stay below."""
    return quantiles(taken, n=20)[18]


def tell(what: str, spans: Spans) -> None:
    """One line of the table."""
    clock, processor = zip(*spans, strict=True)
    print(
        f"{what:<27} {len(spans):4}   p95 {p95(clock):6.1f} ms by the clock, "
        f"{p95(processor):5.1f} ms of the processor (wanted: below {WANTED:g}; "
        f"p50 {median(processor):.1f})"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--readings", type=int, default=300)
    parser.add_argument("--answers", type=int, default=ANSWERS)
    options = parser.parse_args()
    found = figures(options.readings, options.answers)
    tell("a key to its echo", found.keys)
    tell("  what it may wait for", found.ahead)
    tell("Enter to verdict and flags", found.verdicts)
    tell("  Enter with the last digit", found.at_once)
    tell("Enter to the next question", found.questions)
    print(f"{'a bare write and fsync':<27}        p95 {found.sync:6.1f} ms by the clock")
    print(f"{'most memory of all this':<27}        {found.peak:10.0f} MB (wanted: below 150)")


if __name__ == "__main__":
    main()
