"""A run that is open, led through the screens or by printed lines."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING

from stepwise.cli.printing import has_terminal, print_left, print_revealed, verdict_code

if TYPE_CHECKING:
    from stepwise.run import AnsweringBench, Run


def lead(run: Run, bench: AnsweringBench | None, arguments: Namespace) -> int:
    """Lead through a run until it is ended or left; gives the exit code."""
    if arguments.plain or not has_terminal():
        from stepwise.cli.plain import PlainRun

        return PlainRun(run, bench, bell=not arguments.no_bell).lead()
    from stepwise.cli.services import services
    from stepwise.tui import Start, StepwiseApp

    start = Start(run=run, bench=bench, bell=not arguments.no_bell)
    app = StepwiseApp(services(run.folder.parent), start)
    app.run(mouse=not arguments.no_mouse)
    if not run.ended:
        print_left(run)
        return app.return_code or 0
    print(run.review().sentence)
    print_revealed(run, bench)
    print(run.folder)
    return app.return_code or verdict_code(run)
