"""Text in columns of a terminal: wrapping and padding by what a character takes on the screen."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from itertools import zip_longest

WIDTH = 80
"""Columns of a page; every terminal has them."""


def width(text: str) -> int:
    """Columns that a text takes: two for wide characters, none for marks upon others."""
    return sum(_width(character) for character in text)


def _width(character: str) -> int:
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def wrap(text: str, columns: int) -> list[str]:
    """Lines of at most that many columns; a word that is longer is cut.

    Args:
        text: Without line breaks.
        columns: At least 2, so that a wide character has room.
    """
    lines: list[str] = []
    line = ""
    for word in text.split():
        if line and width(line) + 1 + width(word) <= columns:
            line += f" {word}"
            continue
        if line:
            lines.append(line)
        *pieces, line = _cut(word, columns)
        lines.extend(pieces)
    return [*lines, line] if line else lines


def _cut(word: str, columns: int) -> list[str]:
    pieces, piece = [], ""
    for character in word:
        if width(piece) + _width(character) > columns:
            pieces.append(piece)
            piece = ""
        piece += character
    return [*pieces, piece]


def hanging(text: str, first: str = "", later: str = "") -> Iterator[str]:
    """A paragraph over the whole page, its lines opened by `first` and then by `later`."""
    lines = wrap(text, WIDTH - max(width(first), width(later)))
    for number, line in enumerate(lines):
        yield f"{later if number else first}{line}"


def table_row(cells: Sequence[tuple[Sequence[str], int]]) -> Iterator[str]:
    """One row of a table, as many lines high as its highest cell.

    Args:
        cells: For each the paragraphs in it and its columns; a blank stands between cells.
    """
    wrapped = [
        [line for paragraph in paragraphs for line in wrap(paragraph, columns)]
        for paragraphs, columns in cells
    ]
    for lines in zip_longest(*wrapped, fillvalue=""):
        padded = (
            line + " " * (columns - width(line))
            for line, (_, columns) in zip(lines, cells, strict=True)
        )
        yield " " + " ".join(padded).rstrip()
