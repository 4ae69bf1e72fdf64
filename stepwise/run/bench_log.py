"""The bench's own response, taken from a log in which it was read."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from stepwise.errors import RunError
from stepwise.quantities import require
from stepwise.run.plan import Plan
from stepwise.run.run import Run
from stepwise.run.view import read_run
from stepwise.steps import BenchResponse, SweepFields, bench_response

_FEWEST = 2


def with_bench_log(plan: Plan, folder: Path) -> Plan:
    """The same plan with the bench's own response, which is taken off every sweep.

    Args:
        plan: What is to be run.
        folder: Folder of a log that holds a sweep of the bench itself.

    Raises:
        RunError: The log holds no such sweep, or it was read on another bench.
        JournalError: The log cannot be read.
        FileProblems: Its procedure, unit or bench is not understood by this version.
    """
    view = read_run(folder)
    if view.run.plan.bench.name != plan.bench.name:
        raise RunError(
            f"{folder.name} is a log of the bench “{view.run.plan.bench.name}”, "
            f"and this run is on “{plan.bench.name}”"
        )
    return replace(plan, bench_response=_own_response(view.run, folder.name))


def _own_response(run: Run, log: str) -> BenchResponse:
    for step in run.plan.procedure.steps:
        if not isinstance(step, SweepFields) or not step.of_bench:
            continue
        levels = [
            (require(result.point, "Hz"), result.measure)
            for result in run.results()
            if result.step == step.id and result.name == "level_db" and result.point is not None
        ]
        if len(levels) < _FEWEST:
            raise RunError(f"{log} has no levels of the bench: its sweep was not read")
        keys = [prompt.key for prompt in run.prompts if prompt.step == step.id]
        return bench_response(log, levels, keys, require(step.reference, "Hz"))
    raise RunError(f"{log} holds no sweep of the bench itself, as a log of bench-check does")
