"""From names on the command line to a plan."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from stepwise.errors import FileProblems, Problem, StepwiseError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from stepwise.run import AnsweringBench, Plan, Run


def plan_from_names(procedure: str, unit: str, bench: str) -> Plan:
    """Read the three files and see that they go together.

    Raises:
        FileProblems: Everything that is wrong with any of them, or with their going together.
    """
    from stepwise.procedure import (
        find_bench,
        find_procedure,
        find_unit,
        read_bench,
        read_procedure,
        read_source,
        read_unit,
    )
    from stepwise.run import plan_from_texts

    problems: list[Problem] = []
    files: list[Path] = []
    for text, find, read in (
        (procedure, find_procedure, read_procedure),
        (unit, find_unit, read_unit),
        (bench, find_bench, read_bench),
    ):
        try:
            path = find(text)
            read(path)
            files.append(path)
        except FileProblems as error:
            problems.extend(error.problems)
    if problems:
        raise FileProblems(tuple(problems))
    procedure_text, unit_text, bench_text = (read_source(path).text for path in files)
    plan = plan_from_texts(procedure_text, unit_text, bench_text, str(files[0]))
    return _suited(plan)


def with_own_response(plan: Plan, log: str | None, logs: Path) -> Plan:
    """The same plan, with the bench's own response taken off sweeps where a log of it is named.

    Raises:
        NoSuchLog: There is no such log.
        StepwiseError: The log cannot be read, or holds no sweep of this bench.
    """
    if log is None:
        return plan
    from stepwise.cli.places import find_log
    from stepwise.run import with_bench_log

    return with_bench_log(plan, find_log(log, logs))


def rehearsal_plan(procedure: str) -> Plan:
    """A procedure with the unit and the bench of the rehearsal.

    Raises:
        FileProblems: What is wrong with it, or what the simulated bench lacks for it.
    """
    from stepwise.procedure import find_procedure, read_source
    from stepwise.rehearsal import bench_text, unit_text
    from stepwise.run import plan_from_texts

    path = find_procedure(procedure)
    return _suited(plan_from_texts(read_source(path).text, unit_text(), bench_text(), str(path)))


def _suited(plan: Plan) -> Plan:
    from stepwise.procedure import check_scene

    problems = check_scene(plan.procedure, plan.unit, plan.bench)
    if problems:
        raise FileProblems(problems)
    return plan


def carried_on(folder: Path) -> tuple[Run, AnsweringBench | None]:
    """A run carried on where it stopped; a rehearsal with its own bench, as far on as its log.

    Raises:
        StepwiseError: The log cannot be carried on, or does not say how it was rehearsed.
    """
    from stepwise.run import Run

    clock = _clock_of(folder)
    run = Run.resume(folder, clock)
    try:
        return run, rehearsal_bench(run, clock)
    except BaseException:
        run.close()
        raise


def _clock_of(folder: Path) -> Callable[[], datetime]:
    """The clock to carry on a log with: a rehearsal's own, ahead of the real one, or that."""
    from stepwise.cli.places import now
    from stepwise.journal import read_journal

    events = read_journal(folder).events
    if not events or not events[0].data.get("rehearsal"):
        return now
    from stepwise.rehearsal import AttendedClock

    return AttendedClock(now, datetime.fromisoformat(events[-1].at))


def rehearsal_bench(run: Run, clock: Callable[[], datetime] | None = None) -> AnsweringBench | None:
    """The simulated bench of a rehearsal, as far on as its log; None for any other run."""
    from collections.abc import Mapping

    made = run.state.begin.get("rehearsal")
    if not isinstance(made, Mapping):
        return None
    from stepwise.rehearsal import AttendedClock, RehearsalBench

    bench = RehearsalBench(_seed(made), run.plan.unit, run.plan.bench, _faults(made))
    # It warmed up with every answer, in their order, and its pointer does not come to rest in
    # one place; what was doubted had been read too.
    read = [(each.seq, key) for key, each_time in run.state.history.items() for each in each_time]
    read += [(doubt.seq, doubt.key) for doubt in run.state.doubts]
    for _, key in sorted(read):
        bench.answer(run.prompt(key), run.card(key))
    if isinstance(clock, AttendedClock):
        bench.keep(clock)
    return bench


def _seed(made: Mapping[str, object]) -> int:
    seed = made.get("seed")
    if not isinstance(seed, int):
        raise StepwiseError("the log does not say with which seed it was rehearsed")
    return seed


def _faults(made: Mapping[str, object]) -> list[tuple[str, float]]:
    faults = made.get("faults")
    if not isinstance(faults, list | tuple):
        raise StepwiseError("the log does not say with which faults it was rehearsed")
    return [(str(name), float(severity)) for name, severity in faults]
