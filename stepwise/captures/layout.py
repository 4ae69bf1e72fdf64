"""How a capture's file is laid out: where its numbers begin, and what is in which column."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from stepwise.captures.header import Column, Header, read_header
from stepwise.captures.rows import Form, cut, delimiter_of, number
from stepwise.errors import CaptureError

LONGEST_LINE = 65_536
"""[bytes]; a row of numbers has some tens, a line beyond this is no capture."""
FEWEST_ROWS = 8
_MOST_HEADER_LINES = 400
_MOST_SNIFFED = 400
_MOSTLY = 0.9
"""Share of the rows in which a cell must be a number for its column to count as one."""


@dataclass(frozen=True, slots=True)
class Layout:
    """How the rows of a file are to be read."""

    form: Form
    first_line: int
    """Line of the first row of numbers, from 1."""
    offset: int
    """Bytes before that line."""
    header: Header
    is_even: bool
    """Whether every cell of a row is a number, so that rows can be read by the block."""

    @property
    def columns(self) -> tuple[Column, ...]:
        """The columns of numbers."""
        return self.header.columns


@dataclass(frozen=True, slots=True)
class _Shape:
    """What one line looks like."""

    delimiter: bytes
    cells: int
    numbers: frozenset[int]
    """Places of cells that are numbers, with a decimal point or a comma."""


def find_layout(head: bytes, is_whole: bool, path: Path) -> Layout:
    """Recognise the layout from the beginning of a file.

    Args:
        head: Its first bytes, line ends as line feeds.
        is_whole: Whether that is all of it.
        path: For the error.

    Raises:
        CaptureError: No rows of numbers are found.
    """
    lines = head.split(b"\n")
    if not is_whole or not lines[-1]:
        lines.pop()
    shapes = [_shape(line) for line in lines[: _MOST_HEADER_LINES + _MOST_SNIFFED]]
    first = _first_row(shapes)
    if first is None:
        raise CaptureError(path, _no_rows(lines), _odd_line(shapes))
    rows = shapes[first : first + _MOST_SNIFFED]
    form, places = _form(lines[first : first + len(rows)], rows)
    # a line that says something may stand beside the first rows of numbers as well
    beside = [] if len(places) == form.cells else lines[first : first + _MOST_SNIFFED]
    return Layout(
        form=form,
        first_line=first + 1,
        offset=sum(len(line) + 1 for line in lines[:first]),
        header=read_header([*lines[:first], *beside], form.delimiter, places),
        is_even=places in (tuple(range(form.cells)), tuple(range(form.cells - 1))),
    )


def _shape(line: bytes) -> _Shape:
    delimiter = delimiter_of(line)
    cells = cut(line, delimiter)
    may_have_comma = delimiter != b","
    numbers = frozenset(n for n, c in enumerate(cells) if number(c, may_have_comma) is not None)
    return _Shape(delimiter, len(cells), numbers)


def _first_row(shapes: list[_Shape]) -> int | None:
    """The first line from which on enough lines are rows of numbers of one form."""
    for first, shape in enumerate(shapes[:_MOST_HEADER_LINES]):
        run = shapes[first : first + FEWEST_ROWS]
        if len(run) < FEWEST_ROWS:
            return None
        shared = frozenset.intersection(*(each.numbers for each in run))
        alike = all((s.delimiter, s.cells) == (shape.delimiter, shape.cells) for s in run)
        if alike and shared:
            return first
    return None


def _form(lines: list[bytes], rows: list[_Shape]) -> tuple[Form, tuple[int, ...]]:
    delimiter, cells = rows[0].delimiter, rows[0].cells
    alike = [row for row in rows if (row.delimiter, row.cells) == (delimiter, cells)]
    counted = Counter(place for row in alike for place in row.numbers)
    places = tuple(p for p in range(cells) if counted[p] >= _MOSTLY * len(alike))
    comma = delimiter != b"," and any(b"," in line for line in lines)
    return Form(delimiter, comma, cells), places or tuple(sorted(rows[0].numbers))


def _no_rows(lines: list[bytes]) -> str:
    if not any(line.strip() for line in lines):
        return "is empty"
    return (
        f"holds no {FEWEST_ROWS} rows of numbers, one below the other; "
        "save the trace as CSV with a column of times and a column of volts"
    )


def _odd_line(shapes: list[_Shape]) -> int | None:
    """Where numbers begin that do not go on: the likely place of the trouble."""
    return next((n for n, shape in enumerate(shapes, start=1) if len(shape.numbers) > 1), None)
