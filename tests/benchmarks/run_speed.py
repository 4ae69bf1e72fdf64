"""What an answer costs late in a long run, and what it costs to carry on with a long log.

    python -m tests.benchmarks.run_speed [--profile SORT] [--channels 6] [--events N ...]

A six-channel board goes through `first-look` on the simulated bench: about 300 readings. Told
are the milliseconds of processor time from an answer to its verdict (the wait for the disk is
not in it, nor what else the machine does) for the last hundred answers in order, for corrections
of early readings, and what a resume takes for logs of 1,000, 3,000 and 10,000 events. Prints,
asserts nothing.
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
import re
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from statistics import quantiles

from stepwise.procedure import find_procedure
from stepwise.rehearsal import RehearsalBench, bench_text, unit_text
from stepwise.run import Plan, Run, Status, plan_from_texts
from tests.benchmarks.fast_clock import Clock, no_disk

LAST = 100
EVENTS = (1_000, 3_000, 10_000)
CHANNELS = ("one", "two", "three", "four", "five", "six")


def six_channel_plan(channels: int = len(CHANNELS)) -> Plan:
    named = f"channels = {list(CHANNELS[:channels])}"
    unit = re.sub(r"channels *= .*", named, unit_text())
    assert named in unit
    procedure = find_procedure("first-look").read_text(encoding="utf-8")
    return plan_from_texts(procedure, unit, bench_text(), "first-look")


def answer_all(run: Run, bench: RehearsalBench) -> list[tuple[str, float]]:
    """Key and milliseconds of every answer."""
    taken = []
    while (prompt := run.next_prompt()) is not None and run.blocked() is None:
        text = bench.answer(prompt, run.card(prompt.key))
        start = time.thread_time()
        if text is None:
            run.skip(prompt.key, "not on this bench")
        elif run.take(prompt.key, text).status is Status.DOUBTED:
            run.take(prompt.key, text, sure=True)
        taken.append((prompt.key, 1e3 * (time.thread_time() - start)))
    return taken


def corrections(run: Run, times: int) -> list[tuple[str, float]]:
    """The same answers given again, from the first reading on."""
    read = [key for key, each in run.state.answers.items() if each.kind == "reading"]
    taken = []
    for number in range(times):
        key = read[number % len(read)]
        text = run.state.answers[key].typed
        start = time.thread_time()
        run.take(key, text, sure=True)
        taken.append((key, 1e3 * (time.thread_time() - start)))
    return taken


def timed(work: Callable[[str], object], keys: list[str]) -> list[tuple[str, float]]:
    """Key and milliseconds of something done for every key."""
    taken = []
    for key in keys:
        start = time.thread_time()
        work(key)
        taken.append((key, 1e3 * (time.thread_time() - start)))
    return taken


def tell(what: str, taken: list[tuple[str, float]]) -> None:
    times = [each for _, each in taken]
    cuts = quantiles(times, n=20)
    worst = max(taken, key=lambda each: each[1])
    print(f"{what:<34} p50 {cuts[9]:6.1f} ms   p95 {cuts[18]:6.1f} ms   worst {worst[1]:6.1f} ms"
          f"  {worst[0]}")  # fmt: skip


def resumed(run: Run, clock: Clock, counts: Sequence[int]) -> Iterator[tuple[int, float]]:
    """Events, and what carrying on takes [ms], however much was corrected before."""
    folder = run.folder
    for count in counts:
        with Run.resume(folder, clock) as longer:
            grow(longer, count)
        start = time.thread_time()
        with Run.resume(folder, clock):
            taken = time.thread_time() - start
        yield count, 1e3 * taken


def grow(run: Run, count: int) -> None:
    """Answers given again, as they stand in the journal, until it has so many events."""
    journal = run._recorder.journal
    answers = [event for event in journal.events if event.kind in ("reading", "confirm")]
    with no_disk():
        place = 0
        while len(journal.events) < count:
            event = answers[place % len(answers)]
            journal.append(event.kind, event.data, datetime(2026, 5, 2, tzinfo=UTC))
            place += 1


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--profile", metavar="SORT", help="tottime or cumtime")
    parser.add_argument("--channels", type=int, default=len(CHANNELS))
    parser.add_argument("--events", type=int, nargs="*", default=EVENTS)
    options = parser.parse_args()
    plan, clock = six_channel_plan(options.channels), Clock()
    bench = RehearsalBench(1, plan.unit, plan.bench)
    with tempfile.TemporaryDirectory() as folder, Run.start(plan, Path(folder), clock) as run:
        profile = cProfile.Profile() if options.profile else None
        if profile is not None:
            profile.enable()
        taken = answer_all(run, bench)
        readings = sum(each.kind == "reading" for each in run.state.answers.values())
        print(f"{len(taken)} answers, {readings} readings, {len(run.results())} results")
        tell("first fifty answers", taken[:50])
        tell(f"last {LAST} answers", taken[-LAST:])
        tell("all answers", taken)
        keys = [prompt.key for prompt in run.prompts[-LAST:]]
        tell("the card of a prompt", timed(run.card, keys))
        tell("the echo of a key press", timed(lambda key: run.preview(key, "2.0 on 3"), keys))
        tell("corrections of early readings", corrections(run, 40))
        if profile is not None:
            profile.disable()
            pstats.Stats(profile).sort_stats(options.profile).print_stats(40)
        run.close()
        for count, milliseconds in resumed(run, clock, options.events):
            print(f"resume of {count:>6} events {milliseconds:8.0f} ms")


if __name__ == "__main__":
    main()
