"""The one tree of errors. A leaf: every room may import it, it imports nothing of ours.

    StepwiseError
    ├── NotationError        what was typed cannot be read (also ValueError)
    ├── DimensionError       a quantity of the wrong kind, volts for ohms (also ValueError)
    ├── FileProblems         everything that is wrong with a TOML or CSV file (also ValueError)
    ├── CaptureError         a capture of an oscilloscope cannot be read (also ValueError)
    ├── JournalError         the record cannot be read or written (also OSError)
    │   └── JournalHeld      another program has the log open
    └── RunError             something the run does not allow now

Each class carries its parts as attributes; `str()` puts them into one sentence that says what
was wrong, where, and what would be right. `exit_code` is what the command line returns. What
would be right for a name that nothing has is said by `did_you_mean`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

_NEAR = 0.6
"""Likeness of two names from which one may be a slip for the other, as `difflib` counts."""
_FEW = 6
"""Names out of a long list that are told to somebody who wrote none of them."""


class StepwiseError(Exception):
    """Anything this program has to say about something that went wrong."""

    exit_code = 2


class NotationError(StepwiseError, ValueError):
    """Text that cannot be read as a quantity."""

    def __init__(self, text: str, reason: str, nearest: str | None = None) -> None:
        self.text = text
        self.reason = reason
        self.nearest = nearest
        super().__init__(text, reason, nearest)

    def __str__(self) -> str:
        hint = f"; write for instance {self.nearest}" if self.nearest else ""
        return f"“{self.text}”: {self.reason}{hint}"


class DimensionError(StepwiseError, ValueError):
    """A quantity whose kind is not the one that was asked for."""

    def __init__(self, got: str, expected: str) -> None:
        self.got = got
        self.expected = expected
        super().__init__(got, expected)

    def __str__(self) -> str:
        return f"{self.got} where {self.expected} is expected"


class Problem(NamedTuple):
    """One thing wrong with a file: where, what, and what would be right.

    A named tuple, since this file is read before anything else, and what makes dataclasses
    takes longer to import than the rest of `--help`.
    """

    file: Path
    line: int | None
    """Counted from 1; None where the whole file is meant."""
    where: str
    """The place in the reader's words: `step "clip", on_time`, or `row 7`."""
    what: str
    remedy: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else f"{self.file}"
        where = f" {self.where}:" if self.where else ""
        remedy = f"; {self.remedy}" if self.remedy else ""
        return f"{place}:{where} {self.what}{remedy}"


class FileProblems(StepwiseError, ValueError):
    """Everything that is wrong with one file, found in one reading of it."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        super().__init__(problems)

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class _AtLine(StepwiseError):
    """Something about a file, with the line where it stands if there is one."""

    def __init__(self, path: Path, reason: str, line: int | None = None) -> None:
        self.path = path
        self.reason = reason
        self.line = line
        super().__init__(path, reason, line)

    def __str__(self) -> str:
        place = f"{self.path}:{self.line}" if self.line else f"{self.path}"
        return f"{place}: {self.reason}"


class CaptureError(_AtLine, ValueError):
    """A capture of an oscilloscope that cannot be read, or shows nothing that was looked for."""


class JournalError(_AtLine, OSError):
    """The record of a run cannot be read or written."""


class JournalHeld(JournalError):
    """Another program writes to this log."""


class RunError(StepwiseError):
    """Something that the run does not allow now."""


def nearest_name(name: str, known: Iterable[str]) -> str | None:
    """The known name that was probably meant; None where none is near. Case is no difference."""
    from difflib import get_close_matches

    by_fold = {each.casefold(): each for each in known}
    close = get_close_matches(name.casefold(), by_fold, n=1, cutoff=_NEAR)
    return by_fold[close[0]] if close else None


def did_you_mean(name: str, known: Iterable[str], otherwise: str | None = None) -> str:
    """A remedy for a name that nothing has: the one that was probably meant, or what there is.

    Args:
        name: As it was written.
        known: All names that there are.
        otherwise: What is said where none is near; without it all known names are told.
    """
    names = list(known)
    nearest = nearest_name(name, names)
    if nearest is not None:
        return f"did you mean “{nearest}”?"
    return known_here(names) if otherwise is None else otherwise


def known_here(names: Iterable[str], most: int | None = None) -> str:
    """A remedy: the names that there are, the first `most` of them."""
    all_names = list(dict.fromkeys(names))
    told = all_names[:most]
    more = len(all_names) - len(told)
    return f"known here: {', '.join(told)}{f' and {more} more' if more else ''}"


def one_of_many(name: str, known: Iterable[str], command: str) -> str:
    """A remedy for a name out of a long list: the nearest or the first few, and who tells all.

    Args:
        name: As it was written.
        known: All names that there are.
        command: What tells them all: "stepwise rehearse --fault list".
    """
    names = list(known)
    few = f"{known_here(names, _FEW)};"
    return f"{did_you_mean(name, names, few)} “{command}” tells all"
