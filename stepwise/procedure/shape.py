"""Whether tables have the fields and types that a model asks for.

msgspec would stop at the first fault. A person mending a file wants all of them, in plain words
and with what would be right, so the model's own description of its types is walked instead.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterator, Mapping
from datetime import date, datetime, time
from functools import cache
from itertools import count
from types import MappingProxyType
from typing import Any, TypeVar

import msgspec
from msgspec import inspect as types

from stepwise.errors import did_you_mean, nearest_name
from stepwise.procedure.locate import Path
from stepwise.procedure.problems import Problems

Table = TypeVar("Table", bound=msgspec.Struct)

_WORDS: tuple[tuple[type | tuple[type, ...], str], ...] = (
    (bool, "true or false"),
    (str, "text"),
    (int, "a whole number"),
    (float, "a number"),
    (list, "a list"),
    (dict, "a table"),
    ((datetime, date, time), "a date or time"),
)


def check_shape(model: type[msgspec.Struct], value: object, at: Path, out: Problems) -> None:
    """Report everything in which a value differs from a model.

    Args:
        model: What is asked for.
        value: As TOML gave it.
        at: Its place in the file.
        out: Takes the problems.
    """
    _check(_described(model), value, at, out)


@cache  # a procedure asks for the same seven models step after step
def _described(model: type[msgspec.Struct]) -> types.Type:
    """The model's own description of its types."""
    return types.type_info(model)


def sound_part(
    model: type[Table],
    value: object,
    at: Path,
    out: Problems,
    instead: Mapping[str, str] = MappingProxyType({}),
) -> Table | None:
    """What can be read of a table in spite of the problems already found in it.

    Its values can then be judged in the same reading of the file.

    Args:
        model: What the table is.
        value: The table as TOML gave it; its shape has been checked.
        at: Its place in the file.
        out: The problems so far.
        instead: What stands in for required fields that are missing or faulty, so that they do
            not hide the others.

    Returns:
        None where nothing can be read of it, or it is absent.
    """
    if not isinstance(value, dict):
        return None
    faulty = faulty_fields(at, out)
    sound = {key: each for key, each in value.items() if key not in faulty}
    lists = {key: kept for key in faulty if (kept := _sound_entries(value, key, at, out))}
    for instance in ({**sound, **lists}, sound):
        try:
            return msgspec.convert({**instead, **instance}, model)
        except msgspec.ValidationError:
            continue  # a required field is among the faulty or missing; that is reported
    return None


def _sound_entries(
    table: Mapping[str, object], key: str | int, at: Path, out: Problems
) -> list[object]:
    """The entries of a list without the faulty ones; none where the list itself is at fault."""
    entries = table.get(str(key))
    if (*at, key) in {path for path, *_ in out.found}:
        return []
    faulty = faulty_fields((*at, key), out)
    return [each for index, each in enumerate(_as_list(entries)) if index not in faulty]


def placed(values: Collection[str], at: Path, out: Problems) -> list[tuple[Path, str]]:
    """What `sound_part` kept of a list, each with its place as it is counted in the file.

    Args:
        values: The entries that were kept.
        at: The list's place in the file.
        out: The problems so far; those of the entries are none but what was left out.
    """
    faulty = faulty_fields(at, out)
    places = (index for index in count() if index not in faulty)
    return [((*at, index), each) for index, each in zip(places, values, strict=False)]


def faulty_fields(at: Path, out: Problems) -> set[str | int]:
    """Fields of a table, or places in a list, in which something is wrong.

    Args:
        at: The table's or list's place in the file.
        out: The problems so far.
    """
    depth = len(at)
    return {path[depth] for path, *_ in out.found if path[:depth] == at and path[depth:]}


def fixed_lists(model: type[msgspec.Struct]) -> tuple[str, ...]:
    """Fields of a table that are lists of a set length."""
    described = _described(model)
    fields = described.fields if isinstance(described, types.StructType) else ()
    return tuple(each.encode_name for each in fields if _is_fixed(each.type))


def _is_fixed(kind: types.Type) -> bool:
    kind = _bare(kind)
    members = kind.types if isinstance(kind, types.UnionType) else (kind,)
    return any(isinstance(_bare(each), types.TupleType) for each in members)


def completed(model: type[msgspec.Struct], value: object, names: Collection[str]) -> object:
    """A copy of a table in which required texts that are missing have a stand-in.

    Args:
        model: What the table is.
        value: The table as TOML gave it.
        names: Fields that may be stood in for, in the table and in the tables in it. Each gets
            a word of its own.
    """
    return _completed(_described(model), value, names, count(1))


def _completed(
    kind: types.Type, value: object, names: Collection[str], numbers: Iterator[int]
) -> object:
    kind = _bare(kind)
    if isinstance(kind, types.UnionType):
        fitting = (each for each in kind.types if _is_type(_bare(each), value))
        kind = _bare(next(fitting, kind))
    if isinstance(kind, types.StructType) and isinstance(value, dict):
        made = dict(value)
        for field in kind.fields:
            if field.encode_name in value:
                held = value[field.encode_name]
                made[field.encode_name] = _completed(field.type, held, names, numbers)
            elif field.required and field.encode_name in names:
                made[field.encode_name] = f"unnamed{next(numbers)}"
        return made
    if isinstance(kind, types.VarTupleType) and isinstance(value, list):
        return [_completed(kind.item_type, each, names, numbers) for each in value]
    return value


def entries(data: dict[str, Any], name: str) -> list[tuple[Path, object]]:
    """The entries of a list of tables, each with its place; none where it is no list."""
    found = data.get(name)
    return [((name, index), each) for index, each in enumerate(_as_list(found))]


def _as_list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _check(kind: types.Type, value: object, at: Path, out: Problems) -> None:
    remark: dict[str, Any] = {}
    if isinstance(kind, types.Metadata):
        remark, kind = kind.extra_json_schema or {}, kind.type
    if isinstance(kind, types.UnionType):
        _check_union(kind, value, at, out)
    elif isinstance(kind, types.LiteralType | types.EnumType):
        _check_choice(kind, value, at, out)
    elif not _is_type(kind, value):
        out.add(at, f"is {_what(value)} where {_expected(kind)} is expected",
                _retype(kind, value, remark))  # fmt: skip
    elif isinstance(kind, types.StructType) and isinstance(value, dict):
        _check_struct(kind, value, at, out)
    elif isinstance(kind, types.VarTupleType | types.TupleType) and isinstance(value, list):
        _check_list(kind, value, at, out)
    elif isinstance(kind, types.StrType) and isinstance(value, str):
        _check_text(kind, value, at, out, remark)
    elif isinstance(kind, types.IntType) and isinstance(value, int):
        _check_number(kind, value, at, out)


def _check_union(kind: types.UnionType, value: object, at: Path, out: Problems) -> None:
    members = [each for each in kind.types if not isinstance(each, types.NoneType)]
    fitting = [each for each in members if _is_type(_bare(each), value)]
    if fitting or len(members) == 1:
        _check((fitting or members)[0], value, at, out)
        return
    expected = " or ".join(_expected(_bare(each)) for each in members)
    out.add(at, f"is {_what(value)} where {expected} is expected")


def _check_choice(
    kind: types.LiteralType | types.EnumType, value: object, at: Path, out: Problems
) -> None:
    if isinstance(kind, types.LiteralType):
        choices = [str(each) for each in kind.values]
    else:
        choices = [str(each.value) for each in kind.cls]
    if not isinstance(value, str):
        out.add(at, f"is {_what(value)} where text is expected", _one_of(choices))
    elif value not in choices:
        remedy = did_you_mean(value, choices, _one_of(choices))
        out.add(at, f"“{value}” is not known here", remedy)


def _check_struct(kind: types.StructType, value: dict[str, Any], at: Path, out: Problems) -> None:
    fields = {each.encode_name: each for each in kind.fields}
    known = [*fields, kind.tag_field] if kind.tag_field else list(fields)
    meant: set[str | None] = set()
    for key in value:
        if key in known:
            continue
        meant.add(nearest_name(key, known))
        out.add((*at, key), "is not a known key", did_you_mean(key, known))
    for name, field in fields.items():
        if name in value:
            _check(field.type, value[name], (*at, name), out)
        elif field.required and name not in meant:
            is_heading = not at and isinstance(field.type, types.StructType)
            sample = f"[{name}]" if is_heading else f"{name} = {_sample(field.type)}"
            out.add(at, f"“{name}” is missing", f"write {sample}")


def _check_list(
    kind: types.VarTupleType | types.TupleType, value: list[Any], at: Path, out: Problems
) -> None:
    if isinstance(kind, types.TupleType):
        if len(value) != len(kind.item_types):
            wanted = len(kind.item_types)
            out.add(at, f"has {len(value)} entries where {wanted} are expected", f"give {wanted}")
        members: list[types.Type] = list(kind.item_types)
    else:
        if len(value) < (kind.min_length or 0):
            out.add(at, "is empty", "give at least one")
        if kind.max_length is not None and len(value) > kind.max_length:
            out.add(at, f"has {len(value)} entries", f"give {kind.max_length} at most")
        members = [kind.item_type] * len(value)
    for index, (member, entry) in enumerate(zip(members, value, strict=False)):
        _check(member, entry, (*at, index), out)


def _check_text(
    kind: types.StrType, value: str, at: Path, out: Problems, remark: dict[str, Any]
) -> None:
    description = str(remark.get("description", "another text"))
    hint = f"write {description[:1].lower()}{description[1:]}"
    if any(unicodedata.category(each) in ("Cc", "Cs") and each not in "\n\t" for each in value):
        out.add(at, "has a character that cannot be shown", "write plain text")
    elif kind.min_length and not value.strip():
        out.add(at, "is empty", _examples(remark) or "write a word or more")
    elif kind.max_length is not None and len(value) > kind.max_length:
        out.add(at, f"has {len(value)} characters", f"write {kind.max_length} at most")
    elif kind.pattern is not None and not re.fullmatch(kind.pattern.rstrip("$"), value):
        out.add(at, f"“{value}” has characters that do not belong there", hint)


def _check_number(kind: types.IntType, value: int, at: Path, out: Problems) -> None:
    if kind.ge is not None and value < kind.ge:
        out.add(at, f"is {_number(value)}", f"give {kind.ge} or more")
    elif kind.le is not None and value > kind.le:
        out.add(at, f"is {_number(value)}", f"give {kind.le} or less")


def _is_type(kind: types.Type, value: object) -> bool:
    if isinstance(kind, types.BoolType):
        return isinstance(value, bool)
    if isinstance(kind, types.IntType):
        return isinstance(value, int) and not isinstance(value, bool)
    if isinstance(kind, types.StructType):
        return isinstance(value, dict)
    if isinstance(kind, types.VarTupleType | types.TupleType):
        return isinstance(value, list)
    return isinstance(value, str)


def _bare(kind: types.Type) -> types.Type:
    return kind.type if isinstance(kind, types.Metadata) else kind


def _expected(kind: types.Type) -> str:
    if isinstance(kind, types.BoolType):
        return "true or false"
    if isinstance(kind, types.IntType):
        return "a whole number"
    if isinstance(kind, types.StructType):
        return "a table"
    return "a list" if isinstance(kind, types.VarTupleType | types.TupleType) else "text"


def _what(value: object) -> str:
    """A value's type in plain words, with the value where it is short."""
    name = next((words for each, words in _WORDS if isinstance(value, each)), "something else")
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        return f"the number {_number(value)}"
    return f"the text “{value[:30]}”" if isinstance(value, str) else name


def _number(value: float) -> str:
    return str(value) if abs(value) < 1e15 else "beyond all measure"


def _retype(kind: types.Type, value: object, remark: dict[str, Any]) -> str:
    if isinstance(kind, types.StrType):
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        return _examples(remark) or (
            f'write "{_number(value)}", in quotes'  # type: ignore[arg-type]
            if is_number
            else "write it in quotes"
        )
    if isinstance(kind, types.VarTupleType | types.TupleType) and isinstance(value, str):
        return f'write ["{value[:30]}"]'
    if isinstance(kind, types.StructType):
        return "write { name = value, … }"
    if isinstance(kind, types.BoolType):
        return "write true or false, without quotes"
    if isinstance(kind, types.IntType):
        return "write it without quotes and without a point"
    return f"write {_sample(kind)}"


def _examples(remark: dict[str, Any]) -> str:
    examples = remark.get("examples")
    return f'write in quotes, for instance "{examples[0]}"' if examples else ""


def _one_of(choices: list[str]) -> str:
    return f"write one of {', '.join(choices)}"


def _sample(kind: types.Type) -> str:
    """What a missing field could look like."""
    if isinstance(kind, types.Metadata):
        examples = (kind.extra_json_schema or {}).get("examples")
        return f'"{examples[0]}"' if examples else _sample(kind.type)
    if isinstance(kind, types.VarTupleType | types.TupleType):
        return "[…]"
    if isinstance(kind, types.IntType):
        return "1"
    return "{…}" if isinstance(kind, types.StructType) else '"…"'
