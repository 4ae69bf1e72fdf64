"""The command line: the floor that knows all others, and the only room that prints.

Every command imports what it needs inside, so that `--help` costs nothing. Exit codes: 0 fine,
1 something is out of spec or a check failed, 2 the command could not be carried out, 130 when
interrupted. An error is one sentence on the error stream, never a traceback.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence

from stepwise.errors import StepwiseError


def main(argv: Sequence[str] | None = None) -> int:
    """Carry out a command line; gives the exit code."""
    from stepwise.cli.arguments import parser

    arguments = parser().parse_args(argv)
    try:
        return _command(arguments.command)(arguments)
    except StepwiseError as error:
        print(f"stepwise: {error}", file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        print("\nstepwise: interrupted; everything kept is on disk", file=sys.stderr)
        return 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:  # noqa: BLE001, the last net: a sentence, and details in a file
        return _unexpected(error)


def _command(name: str | None) -> Callable[[argparse.Namespace], int]:
    from stepwise.cli import looking, running

    return {
        None: running.home,
        "run": running.run,
        "rehearse": running.rehearse,
        "resume": running.resume,
        "transcribe": running.transcribe,
        "show": looking.show,
        "logs": looking.logs,
        "procedures": looking.procedures,
        "check": looking.check,
    }[name]


def _unexpected(error: Exception) -> int:
    import traceback

    from platformdirs import user_state_path

    folder = user_state_path("stepwise", appauthor=False)
    told = f"stepwise: something unexpected went wrong ({type(error).__name__}: {error})."
    print(told, "Nothing that was recorded is lost.", file=sys.stderr)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / "unexpected.txt"
        path.write_text("".join(traceback.format_exception(error)), encoding="utf-8")
        print(f"stepwise: the details are in {path}", file=sys.stderr)
    except OSError:
        traceback.print_exception(error)
    return 2
