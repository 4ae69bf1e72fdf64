"""From a command line to an exit code, with the net below everything."""

from __future__ import annotations

import os
import sys
from argparse import Namespace
from collections.abc import Sequence
from importlib import import_module
from io import TextIOWrapper

from stepwise.cli.printing import complain
from stepwise.errors import StepwiseError

INTERRUPTED = 130
BROKEN_PIPE = 141
"""What a shell reports of a program that was ended by SIGINT, or wrote to a closed pipe."""


def main(argv: Sequence[str] | None = None) -> int:
    """Carry out a command line.

    Args:
        argv: The words after the program's name; those of the process where None.

    Returns:
        The exit code.
    """
    from stepwise.cli.arguments import parser

    _let_every_character_through()
    try:
        arguments = parser().parse_args(argv)
    except SystemExit as left:  # argparse has said it all: help, version, or what is wrong
        return left.code if isinstance(left.code, int) else 2
    try:
        code = _carry_out(arguments)
        sys.stdout.flush()
    except BrokenPipeError:
        _silence_output()
        return BROKEN_PIPE
    except KeyboardInterrupt:
        print("\nstepwise: interrupted; nothing that was recorded is lost", file=sys.stderr)
        return INTERRUPTED
    except StepwiseError as error:
        complain(str(error))
        return error.exit_code
    except Exception as error:  # noqa: BLE001, the last net: one sentence, details in a file
        return _unexpected(error)
    return code


def _carry_out(arguments: Namespace) -> int:
    module = import_module(f"stepwise.cli.{arguments.module}")
    code: int = module.carry_out(arguments)
    return code


def _let_every_character_through() -> None:
    """No terminal's alphabet may end the program over an ohm sign, or over a stray byte."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _silence_output() -> None:
    """Keep the interpreter from complaining about the closed pipe once more when it leaves."""
    if isinstance(sys.stdout, TextIOWrapper):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _unexpected(error: Exception) -> int:
    """Say in a sentence what nobody foresaw, and put the details where they can be sent from."""
    import traceback
    from datetime import UTC, datetime

    from platformdirs import user_state_path

    sentence = f"something unexpected went wrong ({type(error).__name__}: {error})"
    complain(f"{sentence}; nothing that was recorded is lost")
    details = "".join(traceback.format_exception(error))
    folder = user_state_path("stepwise", appauthor=False)
    path = folder / f"unexpected-{datetime.now(UTC):%Y%m%d-%H%M%S}.txt"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_text(details, encoding="utf-8", errors="backslashreplace")
    except OSError as failure:
        complain(f"the details cannot be written to {path} ({failure.strerror}): {details}")
    else:
        complain(f"the details are in {path}")
    return 2
