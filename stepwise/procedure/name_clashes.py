"""Names of readings that are taken already, or change what they mean from step to step."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from stepwise.errors import NotationError
from stepwise.procedure.locate import Path
from stepwise.quantities import same_dimension, si_unit, spell
from stepwise.steps import ReadingsFields, StepFields, StepProblem, starting_names


def name_clashes(step: StepFields, names: Mapping[str, str]) -> Iterator[StepProblem]:
    """A name has one meaning: a rating's is taken, and a kind of quantity stays.

    The same reading may be taken again in a later step; sag compares the two.

    Args:
        step: A step of any kind; only readings bring names.
        names: Name -> SI unit of all that earlier steps hand on.
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
            yield StepProblem((*path, "name"), what, remedy)


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
