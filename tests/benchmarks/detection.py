"""Which flags each fault leads to, and how often a good board is blamed for nothing.

    python -m tests.benchmarks.detection [--boards N] [--good N] [--final] [--only NAME ...]

Rows are faults, columns flags and slips, cells the share of seeded boards in per cent that
carried it, each fault at its stated severity. The right ones stand in brackets. Without
`--final` the seeds are those of development; with it, others that nothing was ever tuned on.

Prints, asserts nothing, but ends with code 1 where a promise is not kept.
"""

from __future__ import annotations

import sys
import time
from argparse import ArgumentParser, Namespace
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations
from multiprocessing import Pool
from random import Random

from stepwise.judge import Severity
from stepwise.rehearsal import FAULTS, SEVERITIES, Fault
from stepwise.rehearsal.faults import severity_word
from tests.benchmarks.detection_run import fast_run, noticed, plan_of, whole_run

DEVELOPMENT, FINAL = 1, 100_000
"""First seeds."""
PROMISED = 0.98
ALLOWED = 0.01
OTHER_PROCEDURES = ("quick-check", "after-repair", "thermal-soak", "bench-check")
GRAVE = (Severity.STOP, Severity.WRONG)
SHOWN = 6
"""Misses and false alarms that are named, each with its seed."""

Faults = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Task:
    """One rehearsal to be looked at."""

    procedure: str
    seed: int
    faults: Faults = ()
    by_answer: bool = False
    """Every answer is held against the run so far, not only those in which the person erred."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What it carried."""

    task: Task
    names: tuple[str, ...]
    grave: tuple[str, ...]
    """Flags that say `wrong` or `stop`."""
    doubts: tuple[str, ...] = ()
    """Slips that were suspected, with the prompt at which they were."""


PLANS = {name: plan_of(name) for name in {*(f.procedure for f in FAULTS.values()),
                                          "first-look", *OTHER_PROCEDURES}}  # fmt: skip


def look(task: Task) -> Seen:
    """Rehearse, and gather what was noticed."""
    play = whole_run if task.by_answer else fast_run
    run, names = noticed(PLANS[task.procedure], task.seed, task.faults, play)
    grave = {flag.name for flag in run.flags() if flag.severity in GRAVE}
    doubts = tuple(f"{doubt.slip} at {doubt.key}" for doubt in run.state.doubts)
    return Seen(task, names, tuple(sorted(grave)), doubts)


def look_at(tasks: Sequence[Task], workers: int) -> Iterator[Seen]:
    """All of them, in order, on so many cores."""
    if workers == 1:
        yield from map(look, tasks)
        return
    with Pool(workers) as pool:
        yield from pool.imap(look, tasks, chunksize=8)


def fault_tasks(
    faults: Iterable[Fault], first: int, boards: int, severity: float | None = None
) -> list[Task]:
    """Every fault on so many boards, at its stated severity or at another."""
    return [
        Task(fault.procedure, first + number, ((fault.name, severity or fault.stated),))
        for fault in faults
        for number in range(boards)
    ]


def good_tasks(first: int, boards: int, procedure: str = "first-look") -> list[Task]:
    """Sound boards, honest instruments, a careful person."""
    return [Task(procedure, first + number) for number in range(boards)]


def pair_tasks(first: int, pairs: int) -> list[Task]:
    """Pairs of faults that show in one procedure, drawn by a fixed seed."""
    possible = [
        (one, other)
        for one, other in combinations(FAULTS.values(), 2)
        if one.procedure == other.procedure
    ]
    drawn = Random(first).sample(possible, min(pairs, len(possible)))
    return [
        Task(one.procedure, first + number, ((one.name, one.stated), (other.name, other.stated)))
        for number, (one, other) in enumerate(drawn)
    ]


def is_right(fault: Fault, seen: Seen) -> bool:
    """Whether one of the fault's own flags is there."""
    return bool(set(fault.flags) & set(seen.names))


def print_matrix(by_fault: dict[str, list[Seen]]) -> None:
    """Rows faults, columns whatever was seen, in per cent; the right ones in brackets."""
    counts = {name: Counter(n for seen in all_of for n in seen.names)
              for name, all_of in by_fault.items()}  # fmt: skip
    columns = sorted({name for counter in counts.values() for name in counter})
    for number, column in enumerate(columns, start=1):
        print(f"  {number:3} {column}")
    print(f"\n{'':26}" + "".join(f"{number:>6}" for number in range(1, len(columns) + 1)))
    for name, counter in counts.items():
        cells = []
        for column in columns:
            share = 100.0 * counter[column] / len(by_fault[name])
            right = column in FAULTS[name].flags
            text = f"[{share:.0f}]" if right else f"{share:.0f} " if share else ". "
            cells.append(f"{text:>6}")
        print(f"{name:26}" + "".join(cells))


def print_misses(by_fault: dict[str, list[Seen]]) -> bool:
    """How often the right flag is there, and where it is not; whether all promises are kept."""
    kept = True
    print(f"\nThe right flag, promised in {PROMISED:.0%} of the boards")
    for name, all_of in by_fault.items():
        fault = FAULTS[name]
        missed = [seen for seen in all_of if not is_right(fault, seen)]
        share = 1.0 - len(missed) / len(all_of)
        kept = kept and share >= PROMISED
        mark = " " if share >= PROMISED else "!"
        severity = severity_word(all_of[0].task.faults[0][1])
        where = f"{severity}, {fault.procedure}"
        print(f" {mark} {share:7.1%}  {name} ({where}): {' | '.join(fault.flags)}")
        if missed:
            seeds = ", ".join(f"{seen.task.seed} ({', '.join(seen.names) or 'nothing'})"
                              for seen in missed[:SHOWN])  # fmt: skip
            print(f"             missed {len(missed)}: seeds {seeds}")
    return kept


def print_false_alarms(procedure: str, all_of: Sequence[Seen]) -> bool:
    """How often a good board is blamed; whether that is seldom enough."""
    blamed = [seen for seen in all_of if seen.grave]
    share = len(blamed) / len(all_of)
    mark = " " if share <= ALLOWED else "!"
    print(f" {mark} {share:7.2%}  of {len(all_of)} runs of {procedure} say wrong or stop")
    by_name: dict[str, list[int]] = defaultdict(list)
    for seen in blamed:
        for name in seen.grave:
            by_name[name].append(seen.task.seed)
    for name, seeds in sorted(by_name.items(), key=lambda each: -len(each[1])):
        print(f"             {name}: {len(seeds)}, seeds {', '.join(map(str, seeds[:SHOWN]))}")
    lesser = Counter(name for seen in all_of for name in seen.names if name not in seen.grave)
    others = [f"{name} {100.0 * count / len(all_of):.1f} %" for name, count in lesser.items()]
    print(f"             besides: {', '.join(sorted(others)) or 'nothing'}")
    return share <= ALLOWED


def print_doubts(all_of: Sequence[Seen]) -> None:
    """How often an honest reading is doubted."""
    doubted = Counter(doubt.partition(" at ")[0] for seen in all_of for doubt in seen.doubts)
    runs = sum(bool(seen.doubts) for seen in all_of)
    names = ", ".join(f"{name} {count}" for name, count in doubted.most_common()) or "none"
    print(
        f"\nOf {len(all_of)} good first-looks taken answer by answer {runs} were doubted: {names}"
    )
    for seen in all_of:
        if seen.doubts:
            print(f"             seed {seen.task.seed}: {', '.join(seen.doubts)}")


def print_pairs(all_of: Sequence[Seen]) -> None:
    """How often both faults of a pair are found, and which one is not."""
    both = 0
    hidden: Counter[str] = Counter()
    for seen in all_of:
        missed = [name for name, _ in seen.task.faults if not is_right(FAULTS[name], seen)]
        both += not missed
        for name in missed:
            other = next(each for each, _ in seen.task.faults if each != name)
            hidden[f"{name} beside {other}"] += 1
    print(f"\nPairs: both found in {both} of {len(all_of)}; hidden by the other:")
    for what in sorted(hidden):
        print(f"     {what}")


def main(arguments: Namespace) -> int:
    """Make the matrix; gives the exit code."""
    started = time.perf_counter()
    sys.stdout.reconfigure(line_buffering=True)
    first = FINAL if arguments.final else DEVELOPMENT
    what = "the final table, on which nothing was tuned" if arguments.final else "development"
    print(f"Seeds from {first} on: those of {what}.")
    look_all = partial(look_at, workers=arguments.workers)
    chosen = [fault for name, fault in FAULTS.items()
              if not arguments.only or name in arguments.only]  # fmt: skip
    by_fault: dict[str, list[Seen]] = {fault.name: [] for fault in chosen}
    severity = SEVERITIES.get(arguments.severity)
    for seen in look_all(fault_tasks(chosen, first, arguments.boards, severity)):
        by_fault[seen.task.faults[0][0]].append(seen)
    how = arguments.severity or "at the stated severity"
    print(f"{len(by_fault)} faults, {how}, {arguments.boards} boards each\n")
    kept = True
    if arguments.boards:
        print_matrix(by_fault)
        kept = print_misses(by_fault)
    if arguments.good:
        print(f"\nGood boards, at most {ALLOWED:.0%} may be blamed")
        for procedure, boards in [("first-look", arguments.good)] + [
            (name, max(1, arguments.good // 10)) for name in OTHER_PROCEDURES
        ]:
            all_of = list(look_all(good_tasks(first, boards, procedure)))
            kept = print_false_alarms(procedure, all_of) and kept
    if arguments.doubts:
        tasks = [replace(task, by_answer=True) for task in good_tasks(first, arguments.doubts)]
        print_doubts(list(look_all(tasks)))
    if arguments.pairs:
        print_pairs(list(look_all(pair_tasks(first, arguments.pairs))))
    print(f"\n{time.perf_counter() - started:.0f} s")
    return 0 if kept else 1


def arguments_from(words: Sequence[str] | None = None) -> Namespace:
    """What is to be looked at."""
    parser = ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--boards", type=int, default=200, help="boards for each fault (200)")
    parser.add_argument("--good", type=int, default=2000, help="good boards (2000)")
    parser.add_argument("--doubts", type=int, default=200, help="of them, by answer (200)")
    parser.add_argument("--pairs", type=int, default=100, help="pairs of faults (100)")
    parser.add_argument("--workers", type=int, default=2, help="cores (2)")
    parser.add_argument("--severity", choices=SEVERITIES, help="other than the stated one")
    parser.add_argument("--only", nargs="*", default=[], help="names of faults")
    parser.add_argument("--final", action="store_true", help="seeds of the final table")
    return parser.parse_args(words)


if __name__ == "__main__":
    sys.exit(main(arguments_from()))
