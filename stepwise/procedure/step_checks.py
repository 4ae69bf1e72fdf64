"""The steps in their order: what each kind finds wrong, and the names that steps hand on."""

from __future__ import annotations

from collections.abc import Sequence

from stepwise.errors import NotationError
from stepwise.procedure.locate import Path
from stepwise.procedure.name_clashes import name_clashes
from stepwise.procedure.problems import Problems
from stepwise.procedure.step_frame import check_frames
from stepwise.procedure.step_salvage import believable, check_salvaged, salvaged_names
from stepwise.steps import KINDS, Checker, StepFields, kind_name, starting_names


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
        for clash in name_clashes(step, names):
            out.add((*at, *clash.path), clash.what, clash.remedy)
        names |= _check_kind(step, at, names, out)


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
    for problem in believable(checker.problems):
        out.add((*at, *problem.path), problem.what, problem.remedy)
