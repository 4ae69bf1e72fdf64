"""What a step derives by arithmetic: checked when the file is read, worked out as readings come."""

from __future__ import annotations

from stepwise.errors import DimensionError, NotationError
from stepwise.judge import NOTED, Result, Verdict
from stepwise.quantities import (
    Expression,
    Quantity,
    Uncertain,
    check_dimension,
    compile_expression,
    exact,
    parse_quantity,
    same_dimension,
    si_unit,
)
from stepwise.steps.check import Checker, Path
from stepwise.steps.formula_noise import Cleared, check_noise, clear_of_noise
from stepwise.steps.prompt import Pass
from stepwise.steps.reading_fields import DeriveAsk
from stepwise.steps.scene import load_name
from stepwise.steps.work import PassWork

_OF_SUPPLY = frozenset(
    {
        "rail_plus", "rail_minus", "rail_minus_height", "rail_to_rail", "secondary_volts",
        "secondary_volts_2",
    }
)  # fmt: skip
"""What rises and falls with the mains."""
_MOST_DB = 6.0
"""A level of a ratio that is not known better than this standard uncertainty [dB] is not told: the
reading in it may as well be nothing, and the curve of a logarithm is far from straight there."""


def check_formula(derive: DeriveAsk, unit: str, path: Path, checker: Checker) -> None:
    """Report what is wrong with a formula.

    Args:
        derive: What is derived.
        unit: SI unit that it is said to have.
        path: Place of the formula within the step.
        checker: Knows the names so far; takes the problems.
    """
    stated = _stated(derive.formula)
    if stated is not None:
        if derive.without_noise is not None:
            checker.add(
                (*path[:-1], "without_noise"), "a stated value has no noise", "leave it out"
            )
        if not same_dimension(stated.unit, unit):
            what = f"“{derive.formula}” is in {stated.unit}"
            checker.add(path, what, f"state it in {unit or 'no unit'}")
        return
    try:
        expression = compile_expression(derive.formula)
    except NotationError as error:
        hint = f"write for instance {error.nearest}" if error.nearest else ""
        checker.add(path, f"“{derive.formula}” {error.reason}", hint)
        return
    _check_expression(expression, unit, path, checker)
    if derive.without_noise is not None:
        place = (*path[:-1], "without_noise")
        check_noise(derive.without_noise, expression.names, place, checker)


def _check_expression(expression: Expression, unit: str, path: Path, checker: Checker) -> None:
    names = dict(checker.names)
    names.update((name, "ohm") for name in expression.names if name.startswith("load_"))
    unknown = [name for name in sorted(expression.names) if name not in names]
    for name in unknown:
        checker.unknown(path, name)
    if unknown:
        return
    try:
        check_dimension(expression, names, unit)
    except DimensionError as error:
        checker.add(path, error.got, f"it should be {error.expected}")


def work_out_formula(derive: DeriveAsk, work: PassWork) -> None:
    """Enter one derived result where everything that it needs was read."""
    found = _value(derive, work)
    if found is None:
        return
    value, basis, cleared = found
    known, at = work.known, work.at
    unit = si_unit(derive.unit)
    judgement = known.judge(value, derive.limit, unit, at)
    is_bound = cleared is not None and cleared.is_bound
    if is_bound and judgement.verdict is not Verdict.IN_SPEC:
        judgement = NOTED  # what is at most so much may be far below
    label = derive.label or derive.name.replace("_", " ")
    work.results.append(
        Result(
            at.step,
            at.channel,
            at.load,
            None,
            derive.name,
            value,
            unit,
            f"{label}, at most" if is_bound else label,
            judgement,
            basis=basis,
            remark="" if cleared is None else cleared.remark,
        )
    )


def _stated(formula: str) -> Quantity | None:
    """The quantity that a formula states; None where it is arithmetic."""
    try:
        quantity = parse_quantity(formula)
    except NotationError:
        return None
    return quantity if quantity.unit else None


def _value(
    derive: DeriveAsk, work: PassWork
) -> tuple[Uncertain, tuple[str, ...], Cleared | None] | None:
    stated = _stated(derive.formula)
    if stated is not None:
        return exact(stated.value), (), None
    expression = compile_expression(derive.formula)
    inputs: dict[str, Uncertain] = {}
    basis: list[str] = []
    for name in expression.names:
        found = _lookup(name, work)
        if found is None:
            return None
        inputs[name], keys = found
        basis.extend(keys)
    cleared = None
    if (noise := derive.without_noise) is not None:
        cleared = clear_of_noise(noise, inputs[noise.level], work)
        inputs[noise.level] = cleared.value
        basis.extend(cleared.keys)
    try:
        value = expression.propagate(inputs)
    except (NotationError, ValueError):
        return None  # the readings have no such result; they stay and are judged themselves
    if derive.unit == "dB" and value.standard_uncertainty > _MOST_DB:
        return None  # what is next to nothing has no level
    return value, tuple(dict.fromkeys(basis)), cleared


def _lookup(name: str, work: PassWork) -> tuple[Uncertain, tuple[str, ...]] | None:
    """A name's value: from this pass, from an earlier step, or from the bench and unit."""
    for result in reversed(work.results):
        if result.name == name:
            return result.measure, result.basis
    earlier = work.known.find(name, work.at)
    if earlier is not None:
        then = Pass(earlier.step, earlier.channel, earlier.load).key
        here = (
            earlier.measure if name not in _OF_SUPPLY else work.on_its_mains(earlier.measure, then)
        )
        return here, earlier.basis
    for load in work.known.scene.bench.loads:
        if name == load_name(load.nominal):
            return load.resistance, ()
    fact = work.known.scene.facts(work.at.load).get(name)
    return None if fact is None else (exact(fact), ())
