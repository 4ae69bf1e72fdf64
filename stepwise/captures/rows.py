"""Rows of numbers as text: how one is cut into cells, and how very many are at once.

The quick way takes a block of whole lines; wherever it finds anything but numbers in even rows
it gives up, and the careful way, line by line, says what is wrong and where.
"""

from __future__ import annotations

import re
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stepwise.captures.digits import column_of_digits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

TAB, SEMICOLON, COMMA, BLANK = b"\t", b";", b",", b" "

_NUMBER = re.compile(rb"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?\Z")
_DECIMAL_COMMA = re.compile(rb"[+-]?(?:[0-9]+|[0-9]*,[0-9]+)(?:[eE][+-]?[0-9]{1,3})?\Z")
_OF_NUMBERS = b"0123456789+-.eE \n"
_BLANKED = bytes.maketrans(b"\n\t;,", b"    ")
_SHOWN = 24


@dataclass(frozen=True, slots=True)
class Form:
    """How the rows of a file are written."""

    delimiter: bytes
    decimal_comma: bool
    cells: int
    """Cells of a row, an empty one at its end included [1]."""


class OddRow(ValueError):
    """A line that is no row of numbers of that form."""


def delimiter_of(line: bytes) -> bytes:
    """What parts the cells of a line: the rarest in numbers first."""
    for each in (TAB, SEMICOLON):
        if each in line:
            return each
    if COMMA not in line:
        return BLANK
    words = line.split()
    is_decimal = len(words) > 1 and all(_DECIMAL_COMMA.match(word) for word in words)
    return BLANK if is_decimal else COMMA


def cut(line: bytes, delimiter: bytes) -> list[bytes]:
    """The cells of a line, without blanks and quotes around them."""
    cells = line.split() if delimiter == BLANK else line.split(delimiter)
    return [cell.strip(b" \t\"'") for cell in cells]


def number(cell: bytes, decimal_comma: bool) -> float | None:
    """The number that a cell is; None for anything else, infinities included."""
    plain = cell.replace(b",", b".") if decimal_comma else cell
    if _NUMBER.match(plain) is None:
        return None
    value = float(plain)
    return value if abs(value) < 1e300 else None


def quick_rows(block: bytes, form: Form, wanted: tuple[int, ...]) -> NDArray[np.float64] | None:
    """The wanted columns of a block of lines at once.

    Args:
        block: Whole lines, each with its line feed, no carriage returns.
        form: How they are written; every cell is a number, or the last one always empty.
        wanted: Which columns, from 0.

    Returns:
        Shape (rows, wanted); None where a line is of any other form.
    """
    import numpy as np

    delimiter, columns = form.delimiter, form.cells
    plain = _without_blanks(block, delimiter)
    if delimiter != BLANK and plain.endswith(delimiter + b"\n"):
        plain = plain.replace(delimiter + b"\n", b"\n")
        columns -= 1
    if max(wanted) >= columns:
        return None  # a wanted cell is empty: the careful way says in which line
    place = _cell_ends(plain, delimiter, columns)
    if place is None:
        return None
    if form.decimal_comma:
        plain = plain.replace(b",", b".")
    allowed = _OF_NUMBERS + delimiter
    if plain.translate(None, allowed):
        return None
    letters = np.frombuffer(plain, np.uint8)
    starts = np.concatenate(([0], place[:-1] + 1)).reshape(-1, columns)
    ends = place.reshape(-1, columns)
    found = [column_of_digits(letters, starts[:, each], ends[:, each]) for each in wanted]
    plainly = [each for each in found if each is not None]
    if len(plainly) == len(wanted):
        return np.stack(plainly, axis=1)
    values = _any_numbers(plain)
    if values is None or values.size != place.size:
        return None
    return values.reshape(-1, columns)[:, wanted]


def _any_numbers(plain: bytes) -> NDArray[np.float64] | None:
    """All numbers of a text, however written; None where something in it is none."""
    import numpy as np

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # older numpy warns, newer raises
            values = np.fromstring(plain.translate(_BLANKED), dtype=np.float64, sep=" ")
    except ValueError:
        return None
    return values if np.abs(values).max(initial=0.0) < 1e300 else None


def _without_blanks(block: bytes, delimiter: bytes) -> bytes:
    """The same lines, blanks only where they part cells, and there only one."""
    if b" " not in block:
        return block
    plain = block
    while b"  " in plain:
        plain = plain.replace(b"  ", b" ")
    for mark in {delimiter, b"\n"} - {BLANK}:
        plain = plain.replace(b" " + mark, mark).replace(mark + b" ", mark)
    return plain.removeprefix(b" ")


def _cell_ends(plain: bytes, delimiter: bytes, columns: int) -> NDArray[np.intp] | None:
    """Where each cell ends; None unless every line has as many, none of them empty."""
    import numpy as np

    if delimiter != BLANK and b" " in plain:
        return None  # a blank within a cell: two numbers, or none
    letters = np.frombuffer(plain, np.uint8)
    mark, end = ord(delimiter), ord("\n")
    place = np.flatnonzero((letters == mark) | (letters == end))
    if place.size == 0 or place.size % columns or place[0] == 0:
        return None
    found = letters[place].reshape(-1, columns)
    is_even = (found[:, -1] == end).all() and (found[:, :-1] == mark).all()
    return place if is_even and (np.diff(place) > 1).all() else None


def careful_row(line: bytes, form: Form, columns: tuple[int, ...]) -> list[float]:
    """The wanted cells of one line.

    Args:
        line: Without its line feed.
        form: How it is written.
        columns: Which cells are wanted, from 0.

    Raises:
        OddRow: It is not a row of that form; says so in a clause.
    """
    cells = cut(line, form.delimiter)
    if len(cells) < max(columns) + 1 or len(cells) > form.cells + 1:
        raise OddRow(f"has {_counted(len(cells))} where the rows before have {form.cells}")
    if len(cells) > form.cells and cells[-1]:
        raise OddRow(f"has {_counted(len(cells))} where the rows before have {form.cells}")
    found = []
    for column in columns:
        value = number(cells[column], form.decimal_comma)
        if value is None:
            shown = cells[column][:_SHOWN].decode("utf-8", "replace")
            what = f"“{shown}” is not a number" if shown else "is empty"
            raise OddRow(f"cell {column + 1} {what}" if not shown else what)
        found.append(value)
    return found


def _counted(cells: int) -> str:
    return f"{cells} cell" if cells == 1 else f"{cells} cells"
