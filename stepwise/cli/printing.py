"""Printing: text from people made harmless, the sheet of a run, and where its log is."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stepwise.run import AnsweringBench, Run


def has_terminal() -> bool:
    """Whether a person sits at both ends, at a terminal that can draw."""
    import os

    is_dumb = os.environ.get("TERM") == "dumb"
    return sys.stdin.isatty() and sys.stdout.isatty() and not is_dumb


def plain_lines(text: str) -> Iterable[str]:
    """The lines of a message, control characters made visible."""
    from stepwise.safe_text import plain

    return (plain(line) for line in text.splitlines() or [""])


def complain(sentence: str) -> None:
    """Say on the error stream what went wrong; names in it come from anywhere."""
    from stepwise.cli.own_name import as_called

    for line in plain_lines(as_called(sentence)):
        print(f"stepwise: {line}", file=sys.stderr)


def print_lines(lines: Iterable[str]) -> None:
    """Print finished lines."""
    for line in lines:
        print(line)


def print_run(run: Run, bench: AnsweringBench | None = None) -> int:
    """Print the sheet and, alone on the last line, the log's folder; gives the exit code.

    Args:
        run: The run, at its end.
        bench: The simulated bench of a rehearsal, which then says what was wrong with it.
    """
    from stepwise.report import sheet_text

    print(sheet_text(run))
    print_revealed(run, bench)
    print(run.folder)
    return verdict_code(run)


def print_revealed(run: Run, bench: AnsweringBench | None) -> None:
    """Say what was wrong with a rehearsal all along, and whether it was noticed."""
    from stepwise.report import hanging

    texts = bench.reveal(run) if bench is not None else ()
    if texts:
        print("What was in it")
        for text in texts:
            print_lines(hanging(text, "   ", "     "))
        print()


def print_left(run: Run) -> None:
    """Say where a run that was left is, and how to carry on with it."""
    from shlex import quote

    from stepwise.cli.own_name import own_name

    print(f"Left. Everything kept is in {run.folder}; carry on with")
    print(f"  {own_name()} resume {quote(str(run.folder))}")


def verdict_code(run: Run) -> int:
    """1 where something is out of spec, else 0."""
    from stepwise.judge import Verdict

    return 1 if run.review().verdict is Verdict.OUT_OF_SPEC else 0
