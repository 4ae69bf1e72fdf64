"""What can still be told of a step in which some fields are wrong.

The sound fields of such a step are judged in the same reading of the file, and the names that
it would hand on are known, so that no later step is blamed for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import msgspec

from stepwise.errors import NotationError, nearest_name
from stepwise.procedure.locate import Path
from stepwise.procedure.name_clashes import name_clashes
from stepwise.procedure.problems import Problems
from stepwise.procedure.shape import completed, fixed_lists
from stepwise.quantities import si_unit
from stepwise.steps import KINDS, Checker, StepFields, StepProblem

_STAND_INS = ("id", "title", "ask", "name")
"""Fields that nothing else in a step is judged by."""
_ABSENCE = ("nothing is called", "needs a ", "is empty", "belong together")
"""Beginnings of what is said of things that are missing: in a step with faulty fields they may
well be there and only not readable."""


def check_salvaged(entry: object, at: Path, names: dict[str, str], out: Problems) -> None:
    """Let the kind judge the sound part of a step whose shape is wrong.

    Args:
        entry: The step as TOML gave it.
        at: Its place in the file.
        names: Name -> SI unit of all that may be used there.
        out: Takes the problems, and holds those of the shape.
    """
    kind_name = meant_kind(entry)
    if not isinstance(entry, dict) or kind_name is None:
        return
    depth = len(at)
    faults = {path[depth:] for path, *_ in out.found if path[:depth] == at and path[depth:]}
    kind = KINDS[kind_name]
    filled, named = _filled_up({**entry, "kind": kind_name}, kind.fields, faults)
    for removed in _ever_wider(faults - {("kind",)} - filled, named):
        step = _converted(kind.fields, _without(named, (), removed))
        if step is not None:
            checker = Checker(dict(names))
            kind.check(step, checker)
            found = [*believable(checker.problems), *name_clashes(step, names)]
            for problem in _trusted(found, faults, filled):
                path = _as_in_file(problem.path, removed)
                out.add((*at, *path), problem.what, problem.remedy)
            return


def believable(problems: Sequence[StepProblem]) -> list[StepProblem]:
    """The problems without those that only follow from a unit that is not known."""
    unknown = {each.path[:2] for each in problems if each.path[2:] == ("unit",)}
    return [
        each for each in problems if each.path[:2] not in unknown or each.path[2:3] != ("from",)
    ]


def meant_kind(entry: object) -> str | None:
    """The kind of a step as it is written, or the one that is probably meant."""
    kind = entry.get("kind") if isinstance(entry, dict) else None
    if not isinstance(kind, str):
        return None
    return kind if kind in KINDS else nearest_name(kind, list(KINDS))


def salvaged_names(entry: object) -> dict[str, str]:
    """Names, each with its SI unit, that a step of wrong shape would hand on."""
    if not isinstance(entry, dict):
        return {}
    kind = meant_kind(entry)
    names = dict(KINDS[kind].result_units) if kind is not None else {}
    for ask in _asks(entry):
        name, unit = ask.get("name"), ask.get("unit")
        if isinstance(name, str) and isinstance(unit, str):
            try:
                names[name] = si_unit(unit)
            except NotationError:
                continue  # the unit is among what is wrong with that step
    return names


def _asks(entry: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for table in ("readings", "derive"):
        asks = entry.get(table)
        if isinstance(asks, list):
            yield from (each for each in asks if isinstance(each, dict))


def _filled_up(
    entry: dict[str, Any], fields: type[StepFields], faults: set[Path]
) -> tuple[set[Path], dict[str, Any]]:
    """A step whose lists of a set length have sound entries in place of faulty ones.

    Without its faulty entry such a list could not be read at all. Gives the places filled too.
    """
    filled: set[Path] = set()
    made = dict(entry)
    for name in fixed_lists(fields):
        places = {path for path in faults if path[:1] == (name,) and path[1:]}
        gone = {path[1] for path in places}
        value = entry.get(name)
        if not gone or not isinstance(value, list):
            continue
        sound = [each for index, each in enumerate(value) if index not in gone]
        if sound:
            made[name] = [sound[0] if i in gone else each for i, each in enumerate(value)]
            filled |= places
        else:
            del made[name]
    return filled, made


def _ever_wider(faults: set[Path], entry: dict[str, Any]) -> Iterator[set[Path]]:
    """What to leave out: the faulty values, else the list entries around them, else all.

    A table is among the faults where something is missing in it; there may be a stand-in.
    """
    yield {path for path in faults if not isinstance(_value_at(path, entry), dict)}
    yield faults
    yield {path[:2] if len(path) > 2 and isinstance(path[1], int) else path for path in faults}
    yield {path[:1] for path in faults}


def _value_at(path: Path, entry: Any) -> object:
    for part in path:
        try:
            entry = entry[part]
        except (KeyError, IndexError, TypeError):
            return None
    return entry


def _converted(fields: type[StepFields], entry: object) -> StepFields | None:
    try:
        return msgspec.convert(completed(fields, entry, _STAND_INS), fields)
    except msgspec.ValidationError:
        return None  # too much is missing without what is faulty


def _without(value: object, at: Path, removed: set[Path]) -> object:
    if isinstance(value, dict):
        return {
            key: _without(each, (*at, key), removed)
            for key, each in value.items()
            if (*at, key) not in removed
        }
    if isinstance(value, list):
        return [
            _without(each, (*at, index), removed)
            for index, each in enumerate(value)
            if (*at, index) not in removed
        ]
    return value


def _trusted(
    problems: list[StepProblem], faults: set[Path], filled: set[Path]
) -> Iterator[StepProblem]:
    faulty = {path[0] for path in faults}
    for problem in problems:
        # An entry of a list that was read is there: its own emptiness is no absence.
        is_entry = isinstance(problem.path[-1], int)
        is_absence = not is_entry and any(start in problem.what for start in _ABSENCE)
        is_whole_field = len(problem.path) == 1 and problem.path[0] in faulty
        if not is_absence and not is_whole_field and problem.path not in filled:
            yield problem


def _as_in_file(path: Path, removed: set[Path]) -> Path:
    """A place counted without the removed list entries, as it is counted in the file."""
    if len(path) < 2 or not isinstance(path[1], int):
        return path
    index = path[1]
    gone = sorted(
        each[1]
        for each in removed
        if len(each) == 2 and each[0] == path[0] and isinstance(each[1], int)
    )
    for entry in gone:
        if entry <= index:
            index += 1
    return (path[0], index, *path[2:])
