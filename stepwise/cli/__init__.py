"""The command line: the floor that knows all others, and the only room that prints.

One file a command, each with `carry_out(arguments) -> int`. A command imports what it needs
inside, so that `--help` costs nothing and looking at a log loads no screen. Exit codes: 0 fine,
1 something is out of spec or a check failed, 2 the command could not be carried out, 130 when
interrupted. An error is one sentence on the error stream, never a traceback.
"""

from stepwise.cli.entry import main

__all__ = ["main"]
