"""`stepwise logs`: the logs in a table, the oldest first."""

from __future__ import annotations

from argparse import Namespace

from stepwise.cli.places import logs_folder
from stepwise.cli.summary import LogSummary, summarise

_HEADING = ("LOG", "BEGUN", "UNIT", "PROCEDURE", "STATE")


def carry_out(arguments: Namespace) -> int:
    """Print one line for each log."""
    from stepwise.journal import find_log_folders
    from stepwise.report import plain

    logs = logs_folder(arguments.logs)
    folders = find_log_folders(logs)
    if not folders:
        print(f"There is no log in {logs} yet")
        return 0
    rows = [_HEADING, *(_row(summarise(folder)) for folder in folders)]
    safe = [[plain(cell) for cell in row] for row in rows]
    columns = [max(len(row[place]) for row in safe) for place in range(len(_HEADING))]
    for row in safe:
        padded = (cell.ljust(columns[place]) for place, cell in enumerate(row))
        print("  ".join(padded).rstrip())
    return 0


def _row(log: LogSummary) -> tuple[str, ...]:
    state = ", ".join(part for part in (log.state, *log.marks, log.problem) if part)
    return log.folder.name, log.began, log.unit, log.procedure, state
