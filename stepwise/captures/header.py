"""What stands above the numbers: names and units of columns, and the sample interval."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from stepwise.captures.rows import BLANK, cut
from stepwise.errors import DimensionError, NotationError
from stepwise.quantities import convert, parse_quantity

_BLANKS = re.compile(rb"\s+(?![\(\[])")
_IN_BRACKETS = re.compile(r"^(?P<name>.*?)\s*[\(\[](?P<unit>[^\)\]]*)[\)\]]\s*$")
_AFTER_SLASH = re.compile(r"^(?P<name>.+?)\s*(?:/| in )\s*(?P<unit>\S+)$")
_KEY = re.compile(
    r"(?P<key>(?:sampl(?:e|ing)|time|horizontal|x)[ _-]?(?:interval|period|step|increment|rate"
    r"|frequency)|(?:sample|time) ?base increment|increment|interval|delta[ _]?t|dt|samplerate"
    r"|fs)\b"
    r"\s*(?:[\(\[](?P<unit>[^\)\]]*)[\)\]])?[\s:=,;\"]*"
    r"(?P<value>[+-]?[0-9.,]*[0-9](?:[eE][+-]?[0-9]{1,3})?)"
    r"[\s,;\"]*(?P<after>[A-Za-zµμ]*(?:/s)?)",
    re.IGNORECASE,
)
_RATE = re.compile(r"rate|frequency|fs", re.IGNORECASE)
_TIMES = re.compile(r"^(?:t|x|time|x[ -]axis|seconds?|zeit|temps|tiempo|tempo|tid)\b", re.I)
_COUNTS = re.compile(r"^(?:samples?|index|n|nr|no|number|point|sequence|#)\b\.?$", re.I)
_INCREMENT = re.compile(r"^(?:x[ _-]?)?(?:increment|interval|sample interval|dt)$", re.I)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of numbers."""

    place: int
    """Which cell of a row, from 0."""
    name: str
    """As the file calls it; empty where it does not."""
    unit: str
    """As the file writes it; empty where it does not."""

    def factor(self, si: str) -> float | None:
        """What turns its numbers into an SI unit [1]; None where it is in another kind."""
        return _factor(self.unit, si) if self.unit else None

    @property
    def is_time(self) -> bool:
        """Whether its name or unit says that it is the time."""
        if self.unit:
            return self.factor("s") is not None
        return bool(_TIMES.match(self.name))

    @property
    def is_count(self) -> bool:
        """Whether its name says that it only counts the samples."""
        return not self.unit and bool(_COUNTS.match(self.name))


@dataclass(frozen=True, slots=True)
class Header:
    """What the lines above the numbers say."""

    columns: tuple[Column, ...]
    interval_s: float | None
    """From one sample to the next [s]; None where no line says so."""


def read_header(lines: Sequence[bytes], delimiter: bytes, places: Sequence[int]) -> Header:
    """Read the lines above the numbers, and what stands beside them.

    Args:
        lines: Everything that may say something, in order.
        delimiter: What parts the cells.
        places: Which cells hold numbers, from 0.
    """
    rows = [[_text(cell) for cell in _words(line, delimiter)] for line in lines]
    units = _unit_row(rows, places)
    names = _name_row(rows, places, units)
    columns = []
    for place in places:
        name, unit = _named(_cell(rows, names, place))
        if units is not None:
            unit = _bare(_cell(rows, units, place))
        columns.append(Column(place, name, unit))
    interval = _increment_below(rows) or _interval(lines)
    return Header(tuple(columns), interval)


def _words(line: bytes, delimiter: bytes) -> list[bytes]:
    """The cells of a line of words; a unit in brackets stays with its name."""
    return _BLANKS.split(line.strip()) if delimiter == BLANK else cut(line, delimiter)


def _text(cell: bytes) -> str:
    try:
        text = cell.decode("utf-8")
    except UnicodeDecodeError:
        text = cell.decode("latin-1")  # where a lone byte 0xb5 is the micro sign
    return text.strip("#%;\"' \t")


def _cell(rows: Sequence[Sequence[str]], row: int | None, place: int) -> str:
    return rows[row][place] if row is not None and place < len(rows[row]) else ""


def _bare(text: str) -> str:
    return text.strip(" ()[]")


def _factor(unit: str, si: str) -> float | None:
    try:
        return convert(1.0, unit, si)
    except (NotationError, DimensionError):
        return None


def _is_unit(text: str) -> bool:
    bare = _bare(text)
    return bool(bare) and any(_factor(bare, si) is not None for si in ("s", "V", "A", "dB"))


def _unit_row(rows: Sequence[Sequence[str]], places: Sequence[int]) -> int | None:
    """The lowest row that has a unit over every column of numbers."""
    for row in range(len(rows) - 1, -1, -1):
        cells = [_cell(rows, row, place) for place in places]
        if any(_is_unit(cell) for cell in cells) and all(not c or _is_unit(c) for c in cells):
            return row
    return None


def _name_row(
    rows: Sequence[Sequence[str]], places: Sequence[int], units: int | None
) -> int | None:
    """The lowest row, not that of the units, with a word over every column of numbers."""
    for row in range(len(rows) - 1, -1, -1):
        cells = [_cell(rows, row, place) for place in places]
        if row != units and all(any(char.isalpha() for char in cell) for cell in cells):
            return row
    return None


def _named(text: str) -> tuple[str, str]:
    """A heading as name and unit: "CH1 (mV)", "t/ms", "Volt"."""
    match = _IN_BRACKETS.match(text) or _AFTER_SLASH.match(text)
    if match is not None and _is_unit(match["unit"]):
        return match["name"].strip(), _bare(match["unit"])
    if len(text) > 1 and _is_unit(text):
        return text, _bare(text)
    return text, ""


def _increment_below(rows: Sequence[Sequence[str]]) -> float | None:
    """An interval that stands in the row below its heading."""
    for above, below in pairwise(rows):
        for place, cell in enumerate(above):
            if _INCREMENT.match(cell) and place < len(below):
                value = _positive(below[place])
                if value is not None:
                    return value
    return None


def _interval(lines: Sequence[bytes]) -> float | None:
    """The interval that a line names, or the rate."""
    for line in lines:
        match = _KEY.search(_text(line))
        if match is None:
            continue
        value = _positive(match["value"])
        unit = (match["after"] or match["unit"] or "").strip()
        seconds = _seconds(value, unit, bool(_RATE.search(match["key"]))) if value else None
        if seconds is not None:
            return seconds
    return None


def _positive(text: str) -> float | None:
    try:
        value = parse_quantity(text.replace(",", ".") if "." not in text else text).value
    except (NotationError, DimensionError):
        return None
    return value if value > 0.0 else None


def _seconds(value: float, unit: str, is_rate: bool) -> float | None:
    if not is_rate:
        factor = _factor(unit, "s") if unit else None
        return value * factor if factor else value
    word = re.sub(r"(?:sa|s|samples)/s$", "Hz", unit, flags=re.IGNORECASE)
    factor = _factor(word, "Hz") if word else 1.0
    return 1.0 / (value * factor) if factor else None
