"""`stepwise resume`: carry on with a run where it stopped."""

from __future__ import annotations

from argparse import Namespace

from stepwise.cli.front_end import lead
from stepwise.cli.places import find_log, logs_folder
from stepwise.cli.plans import carried_on


def carry_out(arguments: Namespace) -> int:
    """Open a log and lead on; a rehearsal goes on at its own simulated bench."""
    run, bench = carried_on(find_log(arguments.log, logs_folder(arguments.logs)))
    with run:
        if run.set_aside is not None:
            print(f"The last line was torn, never told as kept; it is set aside: {run.set_aside}")
        return lead(run, bench, arguments)
