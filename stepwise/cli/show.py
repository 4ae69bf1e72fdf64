"""`stepwise show`: print a log, as a sheet or as JSON."""

from __future__ import annotations

from argparse import Namespace

from stepwise.cli.places import find_log, logs_folder
from stepwise.cli.printing import complain, verdict_code


def carry_out(arguments: Namespace) -> int:
    """Print a log; a damaged one as far as it is sound, with a sentence that says so."""
    from stepwise.report import run_record, sheet_text
    from stepwise.run import read_run

    view = read_run(find_log(arguments.log, logs_folder(arguments.logs)))
    if arguments.json:
        import json

        print(json.dumps(run_record(view), ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print(sheet_text(view.run, view.warnings), end="")
    for warning in view.warnings:
        complain(warning)
    return 1 if view.record.damages else verdict_code(view.run)
