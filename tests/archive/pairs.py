"""One board taken to two simulated benches, for the check of comparisons."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

from stepwise.archive import ComparedResult, Comparison, compare_runs
from stepwise.cli.plans import rehearsal_plan
from stepwise.cli.rehearse import answer_all
from stepwise.rehearsal import RehearsalBench
from stepwise.run import Plan, Run, RunView, read_run

AT = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)


def rehearsed(
    logs: Path, plan: Plan, board: int, bench: int, faults: Sequence[tuple[str, float]] = ()
) -> RunView:
    """A board on a bench, each by its seed."""
    instruments = RehearsalBench(board, plan.unit, plan.bench, faults, bench_seed=bench)
    made = {"seed": board, "bench_seed": bench, "faults": [list(fault) for fault in faults]}
    with Run.start(plan, logs, lambda: AT, rehearsal=made) as run:
        answer_all(run, instruments)
        folder = run.folder
    return read_run(folder)


def pair(logs: Path, number: int, procedure: str = "first-look") -> Comparison:
    """One board on two benches that share nothing."""
    plan = rehearsal_plan(procedure)
    benches = (100_000 + 2 * number, 100_001 + 2 * number)
    return compare_runs([rehearsed(logs, plan, number, bench) for bench in benches])


def held(comparison: Comparison) -> Iterator[tuple[ComparedResult, bool]]:
    """Every result that could be held against its uncertainty, and whether it stays within."""
    points = (point for curve in comparison.curves for point in curve.points)
    for each in (*comparison.shown, *points):
        if each.is_judged:
            yield each, not each.differs
