"""Two or more runs, laid side by side."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from string import ascii_uppercase
from typing import TYPE_CHECKING

from stepwise.archive.comparison import (
    Change,
    ComparedCurve,
    ComparedFlag,
    ComparedResult,
    Comparison,
    Difference,
    Side,
)
from stepwise.archive.conditions import differing_conditions, hertz_of, prevents
from stepwise.archive.occasion import occasion_terms
from stepwise.archive.sources import Origin, difference, origin_of
from stepwise.errors import StepwiseError
from stepwise.quantities import Uncertain, from_terms

if TYPE_CHECKING:
    from stepwise.judge import Result
    from stepwise.run import RunView

MOST_SIDES = len(ascii_uppercase)
_LEVEL = "level_db"
_ZERO_DB = frozenset({"reference", "reference_again"})
"""Levels that a sweep was set to; its points are held against them."""

Place = tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class _Run:
    """One side with its results where they can be found."""

    view: RunView
    origin: Origin
    exact: Mapping[Place, Result]
    loose: Mapping[Place, Result]
    """Without the step, where that is still one result: procedures name steps differently."""
    ways: frozenset[str]
    """Keys of the readings that other results were computed from."""


def compare_runs(views: Sequence[RunView]) -> Comparison:
    """Lay runs side by side.

    Args:
        views: Two or more; the others are held against the first.

    Raises:
        StepwiseError: There are fewer than two, or too many.
    """
    if not 2 <= len(views) <= MOST_SIDES:
        raise StepwiseError(f"a comparison takes 2 to {MOST_SIDES} logs, not {len(views)}")
    runs = [_run(view, letter) for view, letter in zip(views, ascii_uppercase, strict=False)]
    compared = tuple(_compared(runs))
    return Comparison(
        sides=tuple(_side(run) for run in runs),
        conditions=differing_conditions(views),
        results=tuple(each for each in compared if each.name != _LEVEL),
        curves=tuple(_curves(runs, [each for each in compared if each.name == _LEVEL])),
        flags=tuple(_flags(runs)),
    )


def _run(view: RunView, letter: str) -> _Run:
    results = view.run.results()
    counted = Counter(_place(result)[1:] for result in results)
    return _Run(
        view=view,
        origin=origin_of(view.run, letter),
        exact={_place(result): result for result in results},
        loose={
            _place(result)[1:]: result for result in results if counted[_place(result)[1:]] == 1
        },
        ways=frozenset(key for each in results if each.key is None for key in each.basis),
    )


def _place(result: Result) -> Place:
    return result.step, result.channel, result.load, result.point, result.name


def _side(run: _Run) -> Side:
    view, begin = run.view, run.view.run.state.begin
    plan = view.run.plan
    return Side(
        letter=run.origin.letter,
        folder=view.run.folder,
        unit=plan.unit.name,
        serial=plan.unit.serial,
        procedure=plan.procedure.name,
        revision=plan.procedure.revision,
        bench=plan.bench.name,
        began=view.run.state.began_at or "",
        episode=str(begin.get("episode", "")),
        conclusion=view.run.review().conclusion,
    )


def _compared(runs: Sequence[_Run]) -> Iterator[ComparedResult]:
    """Every result that at least one side has, in the order of the first that has it."""
    told: set[tuple[int, Place]] = set()
    for number, run in enumerate(runs):
        for place in run.exact:
            if (number, place) in told:
                continue
            found = [_found(other, place, run) for other in runs]
            told |= {(n, _place(each)) for n, each in enumerate(found) if each is not None}
            yield _row(runs, found)


def _found(other: _Run, place: Place, run: _Run) -> Result | None:
    exact = other.exact.get(place)
    if exact is not None or other is run:
        # Of another unit it is another thing, and has a row of its own.
        return exact if exact is None or exact.unit == run.exact[place].unit else None
    known_step = other.view.run.plan.procedure.step(str(place[0])) is not None
    if known_step or place[1:] not in run.loose:
        return None
    loose = other.loose.get(place[1:])
    return loose if loose is None or loose.unit == run.exact[place].unit else None


def _row(runs: Sequence[_Run], found: Sequence[Result | None]) -> ComparedResult:
    named = next(each for each in found if each is not None)
    values = tuple(each.measure if each is not None else None for each in found)
    return ComparedResult(
        step=named.step,
        channel=named.channel,
        load=named.load,
        point=named.point,
        name=named.name,
        label=named.label,
        unit=named.unit,
        values=values,
        differences=(None, *(_difference(runs, found, n) for n in range(1, len(runs)))),
        is_way=all(
            _is_way(each, run) for each, run in zip(found, runs, strict=True) if each is not None
        ),
    )


def _is_way(result: Result, run: _Run) -> bool:
    """A reading without a limit that only serves others: what was set, or what is divided."""
    from stepwise.steps import SweepFields

    if result.key is None or result.judgement.limit is not None:
        return False
    step = run.view.run.plan.procedure.step(result.step)
    is_zero_db = isinstance(step, SweepFields) and result.name in _ZERO_DB
    return is_zero_db or result.key in run.ways


def _difference(
    runs: Sequence[_Run], found: Sequence[Result | None], number: int
) -> Difference | None:
    first, second = found[0], found[number]
    if first is None or second is None or prevents(runs[0].view, runs[number].view):
        return None
    one, other = _on_its_occasion(first, runs[0]), _on_its_occasion(second, runs[number])
    measure = difference(one, other, runs[0].origin, runs[number].origin)
    return Difference(measure, _change(measure, first.measure, second.measure))


def _on_its_occasion(result: Result, run: _Run) -> Uncertain:
    """The value with what another occasion adds, which is each run's own."""
    added = list(occasion_terms(result, run.view.run))
    if not added:
        return result.measure
    return from_terms(result.value, [*result.measure.terms.items(), *added])


def _change(measure: Uncertain, first: Uncertain, second: Uncertain) -> Change:
    if not first.terms and not second.terms:
        return Change.UNKNOWN  # a count or a mark: nobody says how sure it is
    if measure.is_least:
        return Change.UNKNOWN  # no instrument was named for one of the two
    if abs(measure.value) <= measure.expanded_uncertainty:
        return Change.SAME
    return Change.MORE if measure.value > 0.0 else Change.LESS


def _curves(runs: Sequence[_Run], levels: Sequence[ComparedResult]) -> Iterator[ComparedCurve]:
    for step, channel in dict.fromkeys((each.step, each.channel) for each in levels):
        own = [
            (hertz, each)
            for each in levels
            if (each.step, each.channel) == (step, channel)
            and (hertz := hertz_of(each.point)) is not None
        ]
        own.sort(key=lambda pair: pair[0])
        yield ComparedCurve(
            step=step,
            channel=channel,
            points=tuple(each for _, each in own),
            frequencies=tuple(hertz for hertz, _ in own),
            curves=tuple(run.view.run.curve(step, channel) for run in runs),
        )


def _flags(runs: Sequence[_Run]) -> Iterator[ComparedFlag]:
    standing = [{flag.identity: flag for flag in run.view.run.flags()} for run in runs]
    for identity in dict.fromkeys(identity for flags in standing for identity in flags):
        on = tuple(identity in flags for flags in standing)
        yield ComparedFlag(standing[on.index(True)][identity], on)
