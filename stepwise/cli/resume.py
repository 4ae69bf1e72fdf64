"""`stepwise resume`: carry on with a run where it stopped."""

from __future__ import annotations

from argparse import Namespace

from stepwise.cli.front_end import lead
from stepwise.cli.places import find_log, logs_folder
from stepwise.cli.plans import clock_of, rehearsal_bench


def carry_out(arguments: Namespace) -> int:
    """Open a log and lead on; a rehearsal goes on at its own simulated bench."""
    from stepwise.run import Run

    folder = find_log(arguments.log, logs_folder(arguments.logs))
    clock = clock_of(folder)
    with Run.resume(folder, clock) as run:
        if run.set_aside is not None:
            print(f"The last line was torn, never told as kept; it is set aside: {run.set_aside}")
        return lead(run, rehearsal_bench(run, clock), arguments)
