"""Collecting everything that is wrong with one file, in the reader's words."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from stepwise.errors import FileProblems, Problem
from stepwise.procedure.locate import Lines, Path
from stepwise.procedure.source import Source
from stepwise.safe_text import plain

_LONGEST = 300
_MOST = 200
"""A file with more faults is not of ours; nobody mends so many by reading them."""
_LABELS = ("id", "name", "nominal")
"""Fields by which people know an entry of a list; others are counted."""


@dataclass(slots=True)
class Problems:
    """The problems of one file, in the order in which they are found."""

    source: Source
    found: list[tuple[Path, str, str]] = field(default_factory=list)

    def add(self, path: Path, what: str, remedy: str = "") -> None:
        """Report one problem.

        Args:
            path: Place in the tables; parts that are missing there are left out of the words.
            what: What is wrong, without a final stop.
            remedy: What would be right.

        Raises:
            FileProblems: There are so many that the reading ends here.
        """
        entry = (path, printable(what), printable(remedy))
        if entry in self.found:
            return
        self.found.append(entry)
        if len(self.found) == _MOST:
            remedy = "mend these first, or see whether it is the right file"
            self.found.append(((), f"more than {_MOST} things are wrong with it", remedy))
            self.raise_if_any()

    def raise_if_any(self) -> None:
        """End the reading where something is wrong.

        Raises:
            FileProblems: All problems, in the order of the lines.
        """
        if not self.found:
            return
        lines = Lines(self.source.text)
        problems = [
            Problem(self.source.path, lines.line(path), words(path, self.source.data), *rest)
            for path, *rest in self.found
        ]
        raise FileProblems(tuple(sorted(problems, key=lambda each: each.line or 0)))


def words(path: Path, data: Any) -> str:
    """A place as people say it: `step "clip", limits.power.max`, or `step 3, items 2`."""
    pieces: list[str] = []
    joined = False
    for part in path:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            break
        if isinstance(part, int):
            pieces[-1] += f" {_label(data, part)}"
            joined = False
        elif joined:
            pieces[-1] += f".{printable(part)}"
        else:
            pieces.append(printable(part))
            joined = True
    return ", ".join(pieces)


def _label(entry: Any, index: int) -> str:
    if isinstance(entry, dict):
        for name in _LABELS:
            text = entry.get(name)
            if isinstance(text, str) and text and len(text) <= 40:
                return f'"{printable(text)}"'
    return str(index + 1)


def printable(text: str) -> str:
    """Text that a terminal can be given: no control characters, and not without end."""
    if len(text) > _LONGEST:
        text = f"{text[: _LONGEST - 1]}…"
    return plain(text)
