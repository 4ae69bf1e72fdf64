"""`stepwise procedures`: what can be run, by name."""

from __future__ import annotations

from argparse import Namespace

from stepwise.errors import FileProblems


def carry_out(_: Namespace) -> int:
    """Print the name, the title and the summary of each procedure."""
    from stepwise.procedure import list_procedures, read_procedure
    from stepwise.report import hanging
    from stepwise.safe_text import plain

    for shelved in list_procedures():
        where = "" if shelved.shipped else f" ({shelved.path})"
        try:
            procedure = read_procedure(shelved.path)
        except FileProblems as error:
            print(plain(f"{shelved.name}{where}: cannot be run"))
            lines = hanging(plain(str(error.problems[0])), "    ", "    ")
        else:
            time = f", about {procedure.minutes} min" if procedure.minutes else ""
            print(plain(f"{shelved.name}{where}: {procedure.title}{time}"))
            lines = hanging(plain(procedure.summary), "    ", "    ")
        for line in lines:
            print(line)
    return 0
