"""`stepwise transcribe`: enter a run from a table of readings."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from stepwise.cli.places import logs_folder, now
from stepwise.cli.plans import plan_from_names
from stepwise.cli.printing import print_run


def carry_out(arguments: Namespace) -> int:
    """Make a log of the table, or say everything that is wrong with it."""
    from stepwise.run import read_notes, transcribe

    plan = plan_from_names(arguments.procedure, arguments.unit, arguments.bench)
    notes = read_notes(Path(arguments.readings))
    logs = logs_folder(arguments.logs)
    with transcribe(
        plan, notes, logs, now, operator=arguments.operator, episode=arguments.episode
    ) as run:
        return print_run(run)
