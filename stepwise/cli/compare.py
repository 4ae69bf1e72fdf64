"""`stepwise compare`: two or more logs side by side."""

from __future__ import annotations

from argparse import Namespace


def carry_out(arguments: Namespace) -> int:
    """Print what was not the same, and every result with its difference."""
    from stepwise.archive import compare_runs
    from stepwise.cli.compare_text import comparison_lines
    from stepwise.cli.places import find_log, logs_folder
    from stepwise.run import read_run

    logs = logs_folder(arguments.logs)
    views = [read_run(find_log(text, logs)) for text in arguments.log]
    comparison = compare_runs(views)
    if arguments.json:
        import json

        from stepwise.archive import comparison_record

        record = comparison_record(comparison)
        print(json.dumps(record, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print("\n".join(comparison_lines(comparison, everything=arguments.all)))
    return 0
