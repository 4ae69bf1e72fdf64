"""`python -m stepwise` and the `stepwise` command."""

from __future__ import annotations

import sys


def main() -> int:
    """Run the command line; gives the exit code."""
    from stepwise.cli import main as run_command

    return run_command(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
