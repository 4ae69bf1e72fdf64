"""What can still be told of a step in which some fields are wrong.

The sound fields of such a step are judged in the same reading of the file, and the names that
it would hand on are known, so that no later step is blamed for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import msgspec

from stepwise.errors import NotationError
from stepwise.procedure.locate import Path
from stepwise.procedure.problems import Problems
from stepwise.quantities import si_unit
from stepwise.steps import KINDS, Checker, StepFields, StepProblem

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
    kind_name = entry.get("kind") if isinstance(entry, dict) else None
    if not isinstance(kind_name, str) or kind_name not in KINDS:
        return
    depth = len(at)
    faults = {path[depth:] for path, *_ in out.found if path[:depth] == at and path[depth:]}
    kind = KINDS[kind_name]
    for removed in _ever_wider(faults):
        step = _converted(kind.fields, _without(entry, (), removed))
        if step is not None:
            checker = Checker(dict(names))
            kind.check(step, checker)
            for problem in _trusted(checker.problems, faults):
                path = _as_in_file(problem.path, removed)
                out.add((*at, *path), problem.what, problem.remedy)
            return


def salvaged_names(entry: object) -> dict[str, str]:
    """Names, each with its SI unit, that a step of wrong shape would hand on."""
    if not isinstance(entry, dict):
        return {}
    kind = entry.get("kind")
    names = dict(KINDS[kind].result_units) if isinstance(kind, str) and kind in KINDS else {}
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


def _ever_wider(faults: set[Path]) -> Iterator[set[Path]]:
    """What to leave out: the faulty values, else the list entries around them, else all."""
    yield faults
    yield {path[:2] if len(path) > 2 and isinstance(path[1], int) else path for path in faults}
    yield {path[:1] for path in faults}


def _converted(fields: type[StepFields], entry: object) -> StepFields | None:
    try:
        return msgspec.convert(entry, fields)
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


def _trusted(problems: list[StepProblem], faults: set[Path]) -> Iterator[StepProblem]:
    faulty = {path[0] for path in faults}
    for problem in problems:
        is_absence = any(start in problem.what for start in _ABSENCE)
        is_whole_field = len(problem.path) == 1 and problem.path[0] in faulty
        if not is_absence and not is_whole_field:
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
