"""`stepwise transcribe`: enter a run from a table of readings."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.cli.places import logs_folder, now
from stepwise.cli.plans import plan_from_names, with_own_response
from stepwise.cli.printing import print_lines, print_run

if TYPE_CHECKING:
    from collections.abc import Iterator

    from stepwise.run import Run


def carry_out(arguments: Namespace) -> int:
    """Make a log of the table, or say everything that is wrong with it."""
    from stepwise.run import read_notes, transcribe

    plan = plan_from_names(arguments.procedure, arguments.unit, arguments.bench)
    notes = read_notes(Path(arguments.readings))
    logs = logs_folder(arguments.logs)
    plan = with_own_response(plan, arguments.bench_log, logs)
    with transcribe(
        plan, notes, logs, now, operator=arguments.operator, episode=arguments.episode
    ) as run:
        print_lines(_doubt_lines(run))
        return print_run(run)


def _doubt_lines(run: Run) -> Iterator[str]:
    """Readings that are probably slips: kept as noted, since nobody can look again."""
    from stepwise.report import hanging
    from stepwise.safe_text import plain

    for line in run.sheet():
        if line.doubted:
            said = f"{line.step} · {line.what}: {line.doubt}. Kept as noted."
            yield from hanging(plain(said), "IN DOUBT: ", "  ")
