"""One board taken to two simulated benches, for the check of comparisons."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from stepwise.archive import Comparison, compare_runs
from stepwise.cli.plans import rehearsal_plan
from stepwise.cli.rehearse import answer_all
from stepwise.rehearsal import RehearsalBench
from stepwise.run import Plan, Run, RunView, read_run

AT = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)
Change = Callable[[RehearsalBench], None]


def rehearsed(
    logs: Path, plan: Plan, board: int, bench: int, change: Change | None = None
) -> RunView:
    """A board on a bench, each by its seed; the board changed before, where that is wanted."""
    instruments = RehearsalBench(board, plan.unit, plan.bench, [], bench_seed=bench)
    if change is not None:
        change(instruments)
    made = {"seed": board, "bench_seed": bench, "faults": []}
    with Run.start(plan, logs, lambda: AT, rehearsal=made) as run:
        answer_all(run, instruments)
        folder = run.folder
    return read_run(folder)


def pair(logs: Path, number: int, procedure: str = "first-look") -> Comparison:
    """One board on two benches that share nothing."""
    plan = rehearsal_plan(procedure)
    benches = (100_000 + 2 * number, 100_001 + 2 * number)
    return compare_runs([rehearsed(logs, plan, number, bench) for bench in benches])
