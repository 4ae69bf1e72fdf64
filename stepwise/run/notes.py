"""A table of readings that were noted elsewhere: from CSV to rows, with all that is wrong."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from stepwise.errors import FileProblems, Problem, did_you_mean

COLUMNS = ("step", "channel", "load", "point", "reading", "note")
_NEEDED = ("step", "point", "reading")
_LARGEST = 4_000_000
"""[bytes] of a table; a whole run is a few thousand, what is larger was chosen by mistake."""
_DELIMITERS = (",", ";", "\t")


@dataclass(frozen=True, slots=True)
class Row:
    """One row, its cells without blanks around them."""

    number: int
    """As a spreadsheet counts: the heading is row 1."""
    line: int
    """Line of the file on which the row ends, from 1."""
    step: str
    channel: str
    load: str
    point: str
    reading: str
    note: str


@dataclass(frozen=True, slots=True)
class Notes:
    """A table of readings."""

    path: Path
    rows: tuple[Row, ...]

    def problem(self, row: Row, cell: str, what: str, remedy: str = "") -> Problem:
        """Something that is wrong with a cell, or with the whole row where `cell` is empty."""
        where = f"row {row.number}, {cell}" if cell else f"row {row.number}"
        return Problem(self.path, row.line, where, what, remedy)


def read_notes(path: Path) -> Notes:
    """Read a table of readings: UTF-8, with a heading; commas, semicolons or tabs between.

    Raises:
        FileProblems: Everything that is wrong with its form.
    """
    text = _text(path)
    lines = text.splitlines()
    first = next((line for line in lines if line.strip()), "")
    delimiter = max(_DELIMITERS, key=first.count)
    table = _table(text, delimiter, path)
    if not table:
        raise FileProblems((Problem(path, None, "", "is empty", _heading_remedy()),))
    line, _, cells = table[0]
    heading = [cell.casefold() for cell in cells]
    problems = [Problem(path, line, "", what, remedy) for what, remedy in _odd_heading(heading)]
    if problems:
        raise FileProblems(tuple(problems))
    rows, problems = _rows(table[1:], heading, path)
    if problems:
        raise FileProblems(tuple(problems))
    return Notes(path, rows)


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            raw = file.read(_LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        what, remedy = f"cannot be read ({reason})", "check the name and the folder"
        raise FileProblems((Problem(path, None, "", what, remedy),)) from None
    if len(raw) > _LARGEST:
        raise FileProblems((Problem(path, None, "", "is larger than any table of readings"),))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        what, remedy = f"byte {raw[error.start]:#04x} is not UTF-8 text", "save it as CSV UTF-8"
        raise FileProblems((Problem(path, line, "", what, remedy),)) from None
    if "\0" in text:
        raise FileProblems((Problem(path, None, "", "is not a table in text", "save it as CSV"),))
    return text


def _table(text: str, delimiter: str, path: Path) -> list[tuple[int, int, list[str]]]:
    """Line, row number and cells of every row that is not blank."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    table: list[tuple[int, int, list[str]]] = []
    try:
        for number, cells in enumerate(reader, start=1):
            stripped = [cell.strip() for cell in cells]
            if any(stripped):
                table.append((reader.line_num, number, stripped))
    except csv.Error as error:
        what, remedy = f"cannot be read as CSV ({error})", "look at the quotes in this line"
        raise FileProblems((Problem(path, reader.line_num, "", what, remedy),)) from None
    return table


def _heading_remedy() -> str:
    return f"begin with the heading {','.join(COLUMNS)}"


def _odd_heading(heading: Sequence[str]) -> Iterator[tuple[str, str]]:
    for place, name in enumerate(heading):
        if name in heading[:place]:
            yield f"the column “{name}” stands twice", "leave one out"
        elif name not in COLUMNS:
            yield f"there is no column “{name[:40]}”", did_you_mean(name, COLUMNS)
    for name in _NEEDED:
        if name not in heading:
            yield f"the column “{name}” is missing", _heading_remedy()


def _rows(
    table: Sequence[tuple[int, int, list[str]]], heading: Sequence[str], path: Path
) -> tuple[tuple[Row, ...], list[Problem]]:
    rows: list[Row] = []
    problems: list[Problem] = []
    for line, number, cells in table:
        if any(cells[len(heading) :]):
            # A decimal comma in a table with commas would otherwise cut a reading short.
            what = f"has {len(cells)} cells where the heading has {len(heading)}"
            remedy = "put a cell with a comma in quotes, or use semicolons between cells"
            problems.append(Problem(path, line, f"row {number}", what, remedy))
            continue
        named = dict(zip(heading, cells, strict=False))
        rows.append(Row(number, line, *(named.get(column, "") for column in COLUMNS)))
    return tuple(rows), problems
