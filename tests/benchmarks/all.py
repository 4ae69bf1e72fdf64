"""Every speed that was promised in one table: the figure, its floor, the ratio, what is wanted.

    python -m tests.benchmarks.all [--times 9] [--readings 300] [--events 10000] [--appends 500]

Each figure and its floor are measured in turns within the same minute. Figures of the program's
own work are those of the processor; what a person waits for is by the clock. Prints, asserts
nothing.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from statistics import median

from stepwise.rehearsal import RehearsalBench
from stepwise.run import Run
from tests.benchmarks import journal_append, keys, run_speed, start_up
from tests.benchmarks.fast_clock import Clock, no_disk
from tests.trust.terminal import ROOT


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the table."""

    what: str
    figure: float
    unit: str = "ms"
    floor: float | None = None
    most: float | None = None
    """Wanted at most: a ratio where there is a floor, else a figure."""

    def __str__(self) -> str:
        ratio = self.figure / self.floor if self.floor else None
        judged = self.figure if ratio is None else ratio
        floor = f"{self.floor:9.2f}" if self.floor else " " * 9
        times = f"{ratio:7.2f}" if ratio is not None else " " * 7
        wanted = ""
        if self.most is not None:
            wanted = f"at most {self.most:g}{'' if ratio is None else ' times'}"
            wanted += "" if judged <= self.most else "   MISSED"
        return f"{self.what:<44} {self.figure:9.2f} {self.unit:<3}{floor} {times}   {wanted}"


def starts(times: int) -> Iterator[Line]:
    """From the command line to the first words."""
    with tempfile.TemporaryDirectory() as folder, start_up.compiled_kept():
        own, floor = start_up.paints(times, Path(folder))
        yield Line("first paint, beside one label in Textual", own, floor=floor, most=1.3)
        for word in ("--help", "--version"):
            own, floor = start_up.commands(times, word)
            yield Line(f"{word}, beside a hello of argparse", own, floor=floor, most=1.5)
        peak = rehearsed(folder)
        for words in (("logs",), ("show", "last"), ("check", "last")):
            own, floor = start_up.commands(times, *words, "--logs", folder)
            yield Line(f"{words[0]}, beside the same hello", own, floor=floor)
        yield Line("memory of a whole first look, unattended", peak, "MB", most=150.0)


def rehearsed(folder: str) -> float:
    """Rehearse a first look to its end; the most memory that it took [MB]."""
    words = ["-m", "stepwise", "rehearse", "first-look", "--unattended", "--logs", folder]
    program = subprocess.Popen([sys.executable, *words], cwd=ROOT, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(program.pid, 0)
    program.returncode = os.waitstatus_to_exitcode(status)
    assert program.returncode in (0, 1)
    return used.ru_maxrss / ((1 << 20) if sys.platform == "darwin" else (1 << 10))


def presses(readings: int, answers: int) -> Iterator[Line]:
    """What a key leads to, in a process of its own, since its memory is told too."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as other:
        found = other.submit(keys.figures, readings, answers).result()
    yield Line("a key to its echo, p95, processor", by_processor(found.keys), most=16.0)
    yield Line("  the same by the clock", by_clock(found.keys))
    yield Line("  what it may wait for, p95, processor", by_processor(found.ahead), most=16.0)
    what = f"Enter to verdict at {readings} readings, p95"
    yield Line(what, by_processor(found.verdicts), most=16.0)
    yield Line(
        "  the same by the clock, beside an fsync", by_clock(found.verdicts), floor=found.sync
    )
    yield Line("  Enter with the last digit, p95, processor", by_processor(found.at_once))
    yield Line("  until the next question, p95, processor", by_processor(found.questions))
    yield Line("memory of the screens on such a run", found.peak, "MB", most=150.0)


def by_processor(spans: keys.Spans) -> float:
    """What 95 of 100 take of the processor [ms]."""
    return keys.p95(own for _, own in spans)


def by_clock(spans: keys.Spans) -> float:
    """What 95 of 100 take by the clock [ms]."""
    return keys.p95(waited for waited, _ in spans)


def resumes(events: int) -> Iterator[Line]:
    """Carrying on, at a tenth of the events and at all of them."""
    plan, clock = run_speed.six_channel_plan(), Clock()
    bench = RehearsalBench(1, plan.unit, plan.bench)
    with tempfile.TemporaryDirectory() as folder, Run.start(plan, Path(folder), clock) as run:
        with no_disk():
            run_speed.answer_all(run, bench)
        run.close()
        for count, taken in run_speed.resumed(run, clock, (events // 10, events)):
            most = 300.0 if count == 10_000 else None
            yield Line(f"resume of {count} events, processor", taken, most=most)


def appends(times: int) -> Line:
    """One line more in a journal."""
    with tempfile.TemporaryDirectory() as folder:
        bare, journal, _ = journal_append.appended(Path(folder), times)
    what = "journal append, beside a write and an fsync"
    return Line(what, median(journal), floor=median(bare), most=1.2)


def main() -> None:
    """Print the table as it comes in."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=9)
    parser.add_argument("--readings", type=int, default=300)
    parser.add_argument("--answers", type=int, default=100)
    parser.add_argument("--events", type=int, default=10_000)
    parser.add_argument("--appends", type=int, default=500)
    options = parser.parse_args()
    print(f"{'':<44} {'figure':>9}    {'floor':>9} {'ratio':>7}   wanted")
    for line in starts(options.times):
        print(line, flush=True)
    for line in presses(options.readings, options.answers):
        print(line, flush=True)
    for line in resumes(options.events):
        print(line, flush=True)
    print(appends(options.appends))


if __name__ == "__main__":
    main()
