"""The steps in their order: what each kind finds wrong, and the names that steps hand on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stepwise.errors import NotationError
from stepwise.procedure.locate import Path
from stepwise.procedure.problems import Problems
from stepwise.procedure.step_frame import check_frames
from stepwise.procedure.step_salvage import check_salvaged, salvaged_names
from stepwise.quantities import same_dimension, si_unit, spell
from stepwise.steps import (
    KINDS,
    Checker,
    ReadingsFields,
    StepFields,
    kind_name,
    starting_names,
)


def check_steps(steps: Sequence[StepFields | None], raw: object, out: Problems) -> None:
    """Check the steps against each other, and each by its kind.

    Args:
        steps: As far as their shape is right; None in place of the others.
        raw: The steps as TOML gave them.
        out: Takes the problems.
    """
    entries = raw if isinstance(raw, list) else []
    check_frames(entries, out)
    names = starting_names()
    for index, step in enumerate(steps):
        at: Path = ("step", index)
        if step is None:
            check_salvaged(entries[index], at, names, out)
            names |= salvaged_names(entries[index])
            continue
        _check_name_clashes(step, at, names, out)
        names |= _check_kind(step, at, names, out)


def _check_name_clashes(step: StepFields, at: Path, names: dict[str, str], out: Problems) -> None:
    """A name has one meaning: a rating's is taken, and a kind of quantity stays.

    The same reading may be taken again in a later step; sag compares the two.
    """
    if not isinstance(step, ReadingsFields):
        return
    here: set[str] = set()
    for path, name, unit in _declared(step):
        what = remedy = ""
        if name in starting_names():
            what = f"“{name}” is the name of a rating or claim"
            remedy = "choose another name"
        elif path[0] == "derive" and name in here:
            what, remedy = f"“{name}” stands twice", "rename one"
        elif name in names and _is_other_kind(names[name], unit):
            what = f"“{name}” was in {_spelt(names[name])} in an earlier step"
            remedy = f"choose another name, or a unit like {_spelt(names[name])}"
        here.add(name)
        if what:
            out.add((*at, *path, "name"), what, remedy)


def _declared(step: ReadingsFields) -> Iterator[tuple[Path, str, str]]:
    for place, ask in enumerate(step.readings):
        yield ("readings", place), ask.name, ask.unit
    for place, derive in enumerate(step.derive):
        yield ("derive", place), derive.name, derive.unit


def _is_other_kind(known: str, unit: str) -> bool:
    try:
        return not same_dimension(known, si_unit(unit))
    except NotationError:
        return False  # a unit that is not known is reported by the kind


def _spelt(unit: str) -> str:
    return spell(unit) or "no unit"


def _check_kind(step: StepFields, at: Path, names: dict[str, str], out: Problems) -> dict[str, str]:
    """Let the kind check its step; gives the names that the step hands on."""
    kind = KINDS[kind_name(step)]
    checker = Checker(dict(names))
    kind.check(step, checker)
    _hand_on(checker, at, out)
    try:
        handed_on = dict(kind.names(step))
    except NotationError:
        return checker.names  # a unit that is not known has just been reported
    return {name: "" if unit == "1" else unit for name, unit in handed_on.items()}


def _hand_on(checker: Checker, at: Path, out: Problems) -> None:
    for problem in checker.problems:
        out.add((*at, *problem.path), problem.what, problem.remedy)
