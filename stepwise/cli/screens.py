"""`stepwise` alone: the screens, from the first one."""

from __future__ import annotations

import sys
from argparse import Namespace

from stepwise.cli.places import logs_folder
from stepwise.cli.printing import has_terminal


def carry_out(arguments: Namespace) -> int:
    """Open the screens; without a terminal say what to do."""
    if not has_terminal():
        from stepwise.cli.own_name import own_name

        name = own_name()
        print(
            "stepwise: the screens need a terminal that can draw; here write for instance "
            f"“{name} rehearse --unattended”, or “{name} --help” for all commands",
            file=sys.stderr,
        )
        return 2
    from stepwise.cli.services import services
    from stepwise.tui import StepwiseApp

    app = StepwiseApp(services(logs_folder(arguments.logs)))
    app.run()
    return app.return_code or 0
