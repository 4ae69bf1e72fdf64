"""`stepwise run`: take a unit through a procedure."""

from __future__ import annotations

from argparse import Namespace

from stepwise.cli.front_end import lead
from stepwise.cli.places import logs_folder, now
from stepwise.cli.plans import plan_from_names, with_own_response


def carry_out(arguments: Namespace) -> int:
    """Begin a run and lead through it."""
    from stepwise.run import Run

    plan = plan_from_names(arguments.procedure, arguments.unit, arguments.bench)
    logs = logs_folder(arguments.logs)
    plan = with_own_response(plan, arguments.bench_log, logs)
    with Run.start(plan, logs, now, operator=arguments.operator, episode=arguments.episode) as run:
        return lead(run, None, arguments)
