"""Units and benches as forms: which fields there are, from TOML and back.

The form writes the text itself, so that it knows on which line each field stands: a problem
that is reported with its line is shown beside the field that it is about.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from stepwise.errors import StepwiseError
from stepwise.tui.services import FileKind

Place = tuple[str, int, str]
"""Table, number of its turn from 0, key."""
Values = dict[Place, str]

_APART = re.compile(r";|,\s+")
_MISSING = re.compile(r"“(?P<key>\w+)” is missing\Z")


class Sort(StrEnum):
    """How a field is written in TOML."""

    TEXT = "text"
    LIST = "list"
    NUMBER = "number"


@dataclass(frozen=True, slots=True)
class Field:
    """One line of a form."""

    key: str
    label: str
    example: str = ""
    sort: Sort = Sort.TEXT


@dataclass(frozen=True, slots=True)
class Table:
    """One table of the file; `many` may stand several times."""

    name: str
    title: str
    fields: tuple[Field, ...]
    many: bool = False


@dataclass(frozen=True, slots=True)
class Written:
    """A form as TOML."""

    text: str
    lines: Mapping[int, Place]
    """Line number from 1 -> the field that stands there."""


_UNIT = (
    Table(
        "unit",
        "The unit",
        (
            Field("name", "Name", "Teal"),
            Field("channels", "Channels", "left, right", Sort.LIST),
            Field("serial", "Serial number", ""),
            Field("price", "Price", "48 EUR"),
            Field("remarks", "Remarks", ""),
        ),
    ),
    Table(
        "ratings",
        "Ratings, as far as known",
        (
            Field("reservoir_rating", "Reservoir, printed", "50 V"),
            Field("reservoir_capacitance", "Reservoir of one rail", "10 mF"),
            Field("minimum_load", "Lowest load", "4 ohm"),
            Field("maximum_load", "Highest load", "16 ohm"),
            Field("input_resistance", "Input resistance", "22 kohm"),
            Field("input_capacitor", "Input capacitor", "2.2 uF"),
            Field("output_capacitor", "Output capacitor", "1 mF"),
            Field("sensitivity", "Input for full power", "775 mV"),
            Field("maximum_supply", "Highest rail", "40 V"),
            Field("heatsink_limit", "Hottest heatsink", "80 C"),
        ),
    ),
    Table(
        "claim",
        "What its seller claims",
        (
            Field("power", "Power", "60 W"),
            Field("load", "Into the load", "4 ohm"),
            Field("distortion", "At distortion", "10 %"),
        ),
        many=True,
    ),
)
_BENCH = (
    Table("bench", "The bench", (Field("name", "Name", "Hall workshop"),)),
    Table(
        "meter",
        "Meter",
        (
            Field("id", "Short name in procedures", "ac"),
            Field("name", "What people call it", "pointer voltmeter"),
            Field("type", "Type", "analogue, digital or oscilloscope"),
            Field("reads", "Reads", "V rms"),
            Field("ranges", "Ranges", "1 V, 3 V, 10 V", Sort.LIST),
            Field("accuracy", "Accuracy", "3 % of full scale"),
            Field("resolves", "Read as finely as", "1/4 division of 30"),
            Field("detector", "Detector", "average or rms"),
            Field("counts", "Highest number shown", "1999", Sort.NUMBER),
            Field("decibel_step", "Finest step in dB", "0.5 dB"),
        ),
        many=True,
    ),
    Table(
        "load",
        "Dummy load",
        (
            Field("nominal", "Called", "8 ohm"),
            Field("measured", "Measured", "8.06 ohm"),
            Field("uncertainty", "May be off by", "0.5 %"),
            Field("rating", "Bears", "100 W"),
        ),
        many=True,
    ),
    Table(
        "supply",
        "Supply",
        (
            Field("kind", "Kind", "transformer"),
            Field("secondary", "One winding, marked", "24 V"),
            Field("windings", "Windings", "2", Sort.NUMBER),
            Field("rating", "Rating", "160 VA"),
            Field("mains", "Mains", "50 Hz"),
            Field("regulation", "Regulation, marked", "6 %"),
        ),
    ),
    Table(
        "oscillator",
        "Oscillator",
        (
            Field("source_resistance", "Source resistance", "600 ohm"),
            Field("uncertainty", "May be off by", "10 %"),
        ),
    ),
)
FORMS: Mapping[FileKind, tuple[Table, ...]] = MappingProxyType(
    {FileKind.UNIT: _UNIT, FileKind.BENCH: _BENCH}
)


def read_form(kind: FileKind, text: str) -> tuple[Values, tuple[str, ...]]:
    """Read a file into the fields of its form.

    Args:
        kind: Which form.
        text: TOML; empty for a new form.

    Returns:
        The fields, and the names of keys that the form does not know and would not keep.

    Raises:
        StepwiseError: The text is no TOML.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise StepwiseError(f"This {kind} is not readable as TOML: {error}") from error
    values: Values = {}
    known: set[tuple[str, str]] = set()
    for table in FORMS[kind]:
        known.update((table.name, each.key) for each in table.fields)
        for number, turn in enumerate(_turns(data.get(table.name))):
            for each in table.fields:
                if each.key in turn:
                    values[table.name, number, each.key] = _shown(turn[each.key])
    strange = sorted(
        f"{name}.{key}"
        for name, entry in data.items()
        for turn in _turns(entry) or [{"": entry}]
        for key in turn
        if (name, key) not in known
    )
    return values, tuple(dict.fromkeys(strange))


def write_form(kind: FileKind, values: Values) -> Written:
    """Write the fields as TOML; empty fields and empty turns are left out."""
    lines: list[str] = []
    places: dict[int, Place] = {}
    for table in FORMS[kind]:
        for number in _numbers(table, values):
            filled = [
                (each, text)
                for each in table.fields
                if (text := values.get((table.name, number, each.key), "").strip())
            ]
            if not filled and (table.many or table is not FORMS[kind][0]):
                continue
            lines += [""] if lines else []
            lines.append(f"[[{table.name}]]" if table.many else f"[{table.name}]")
            # What is missing from a table is reported on its head: show it at its first field.
            places[len(lines)] = (table.name, number, table.fields[0].key)
            for each, text in filled:
                lines.append(f"{each.key} = {_written(each, text)}")
                places[len(lines)] = (table.name, number, each.key)
    return Written("\n".join(lines) + "\n", MappingProxyType(places))


def on_form(kind: FileKind, place: Place, what: str, remedy: str) -> tuple[Place, str]:
    """Where in the form something wrong is shown, and in words of a form: it is no file there.

    Args:
        kind: Which form.
        place: The field on whose line it was found.
        what: What is wrong.
        remedy: What would be right; empty where nobody can say.
    """
    name, number, _ = place
    missing = _MISSING.match(what)
    fields = {each.key: each for each in _table(kind, name).fields}
    field = fields.get(missing["key"]) if missing is not None else None
    if field is not None:
        example = f", such as {field.example}" if field.example else ""
        return (name, number, field.key), f"{field.label} is missing: fill it in{example}"
    return place, f"{what}; {remedy}" if remedy else what


def _table(kind: FileKind, name: str) -> Table:
    return next(each for each in FORMS[kind] if each.name == name)


def turns_of(table: Table, values: Values) -> int:
    """How many turns of a table the form shows: one at least."""
    return max([1, *(number + 1 for name, number, _ in values if name == table.name)])


def _numbers(table: Table, values: Values) -> Sequence[int]:
    return range(turns_of(table, values))


def _turns(entry: object) -> list[Mapping[str, object]]:
    if isinstance(entry, Mapping):
        return [entry]
    if isinstance(entry, list):
        return [turn for turn in entry if isinstance(turn, Mapping)]
    return []


def _shown(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(str(each) for each in value)
    return str(value)


def _written(field: Field, text: str) -> str:
    if field.sort is Sort.LIST:
        parts = [part.strip() for part in _APART.split(text)]
        return f"[{', '.join(_quoted(part) for part in parts if part)}]"
    if field.sort is Sort.NUMBER and text.isdecimal() and text.isascii():
        return str(int(text))
    return _quoted(text)


def _quoted(text: str) -> str:
    # JSON's escapes are TOML's; only DEL, which JSON leaves bare, TOML wants escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
