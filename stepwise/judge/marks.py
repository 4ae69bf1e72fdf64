"""Marks: what a unit is worth out of ten, by a scheme that stays the same from unit to unit.

A scheme is a list of criteria. One that is computed holds a result against two anchors: the
value that earns nothing and the value that earns ten, linear between them and level beyond. One
that is judged takes the mark that the person gave. The total is their mean by weight; results
that share a source of error (a meter's range, a load) keep sharing it in the total.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

import msgspec

from stepwise.judge.findings import Result
from stepwise.judge.limit import Limit
from stepwise.judge.verdict import conformance_probability
from stepwise.quantities import (
    NOT_A_FIGURE,
    Uncertain,
    format_uncertain,
    from_terms,
    resolution,
    with_signs,
    within_limits,
)

FULL_MARK = 10.0
_SCALE = Limit(0.0, FULL_MARK, "", "0 to 10")
_JUDGED_STEP = 1.0
"""People give whole points, so a mark is off by up to half of one: common practice, no source."""


class Where(StrEnum):
    """Which of several results a criterion takes: one for each channel, load or point."""

    WORST = "worst"
    MEAN = "mean"


class MarkFields(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    rename={"source": "from"},
):
    """One criterion of the marking scheme."""

    name: Annotated[
        str, msgspec.Meta(min_length=1, max_length=40, description="What the criterion is called")
    ]
    weight: Annotated[
        int, msgspec.Meta(ge=1, le=1000, description="What it counts beside the others")
    ]
    source: Annotated[
        str,
        msgspec.Meta(
            pattern="^[a-z][a-z0-9_]*$",
            max_length=40,
            description="The name of a result, or of a mark that the person gives",
            examples=["power", "flatness", "build"],
        ),
    ]
    judged: Annotated[
        bool, msgspec.Meta(description="True: the mark is one that the person gives")
    ] = False
    step: Annotated[str, msgspec.Meta(description="Only results of this step")] | None = None
    load: (
        Annotated[str, msgspec.Meta(description="Only into this load", examples=["8 ohm"])] | None
    ) = None
    point: (
        Annotated[
            str,
            msgspec.Meta(description="Only at this point: a place, a frequency, a reading's name"),
        ]
        | None
    ) = None
    where: Annotated[
        Where, msgspec.Meta(description="Which counts where there are several results")
    ] = Where.WORST
    size: Annotated[
        bool, msgspec.Meta(description="True: how large it is counts, whatever its sign")
    ] = False
    zero: (
        Annotated[str, msgspec.Meta(description="What earns no point", examples=["20 W"])] | None
    ) = None
    ten: (
        Annotated[str, msgspec.Meta(description="What earns all ten", examples=["80 W"])] | None
    ) = None


@dataclass(frozen=True, slots=True)
class Criterion:
    """One criterion, checked."""

    name: str
    weight: int
    source: str
    """Name of the results that it takes."""
    unit: str = ""
    """SI unit of `zero` and `ten`."""
    zero: float = 0.0
    """What earns nothing [`unit`]."""
    ten: float = FULL_MARK
    """What earns ten [`unit`]; below `zero` where less is better."""
    judged: bool = False
    step: str | None = None
    load: str | None = None
    """Label of a load, plain spelling."""
    point: str | None = None
    where: Where = Where.WORST
    size: bool = False

    def takes(self, result: Result) -> bool:
        """Whether a result counts here."""
        wanted = ((self.step, result.step), (self.load, result.load), (self.point, result.point))
        return result.name == self.source and all(
            want is None or want == got for want, got in wanted
        )


@dataclass(frozen=True, slots=True)
class CriterionMark:
    """What one criterion comes to."""

    criterion: Criterion
    mark: Uncertain | None
    """0 to 10; None where nothing was found to mark."""
    basis: tuple[Result, ...] = ()
    """The results that it rests on: the worst one, or all that the mean is of."""
    of: int = 0
    """How many results it was chosen from."""
    says: str = ""
    """How it came about, in short: "42.1 ± 1.1 W, right, 4 Ω, the worst of 4"."""

    @property
    def figure(self) -> str:
        """The mark in figures."""
        return mark_text(self.mark)


@dataclass(frozen=True, slots=True)
class Marks:
    """The marks of one run."""

    lines: tuple[CriterionMark, ...] = ()
    """One for each criterion of the scheme; none where the procedure has no scheme."""

    @property
    def given(self) -> tuple[CriterionMark, ...]:
        """The criteria that have a mark."""
        return tuple(line for line in self.lines if line.mark is not None)

    @property
    def missing(self) -> tuple[CriterionMark, ...]:
        """The criteria for which nothing was found."""
        return tuple(line for line in self.lines if line.mark is None)

    @property
    def weight(self) -> int:
        """Weight of the whole scheme."""
        return sum(line.criterion.weight for line in self.lines)

    @property
    def weight_given(self) -> int:
        """Weight of the criteria that have a mark."""
        return sum(line.criterion.weight for line in self.given)

    @property
    def total(self) -> Uncertain | None:
        """Out of ten, over the criteria that have a mark; None where none has.

        Only totals over the same criteria can be compared: see `missing`, or `span`.
        """
        return _weighted(self.given)

    @property
    def figure(self) -> str:
        """The total in figures."""
        return mark_text(self.total)

    @property
    def span(self) -> tuple[float, float] | None:
        """The lowest and highest total that the missing criteria leave possible."""
        total = self.total
        if total is None:
            return None
        lowest = total.value * self.weight_given / self.weight
        open_points = FULL_MARK * (self.weight - self.weight_given) / self.weight
        return lowest, lowest + open_points


def give_marks(criteria: Sequence[Criterion], results: Sequence[Result]) -> Marks:
    """Mark what was found.

    Args:
        criteria: The scheme.
        results: All results of a run.
    """
    return Marks(tuple(_line(each, results) for each in criteria))


def mark_of(criterion: Criterion, measure: Uncertain) -> Uncertain:
    """The mark [0 to 10] of one value, with its uncertainty.

    Beyond an anchor the mark is level, so an error of the value counts there only as far as it
    may reach back between the anchors: with the probability that the value lies between them.

    Args:
        criterion: A computed one.
        measure: The value in the criterion's unit.

    Source:
        The scale is a choice, no source. Mean slope of a clipped line under a normal
        distribution: Stein's lemma, cov(f(X), X) = var(X) E[f'(X)] (from memory).
    """
    sized = measure.scaled(-1.0) if criterion.size and measure.value < 0.0 else measure
    slope = FULL_MARK / (criterion.ten - criterion.zero)
    straight = Uncertain((sized.value - criterion.zero) * slope, sized.scaled(slope).terms)
    between = conformance_probability(straight, _SCALE)
    value = min(FULL_MARK, max(0.0, straight.value))
    # Where none of it reaches back, it does not matter how large it is, be it without bounds.
    counts = {source: between * term if between else 0.0 for source, term in straight.terms.items()}
    return Uncertain(value, counts)


def mark_text(mark: Uncertain | None) -> str:
    """A mark in tenths of a point with its expanded uncertainty: "7.4 ± 0.9".

    An uncertainty that rounds to nothing is left out: nobody reads hundredths of a mark. So is
    one that nobody knows.
    """
    if mark is None:
        return NOT_A_FIGURE
    spread = f"{mark.stated_uncertainty or 0.0:.1f}"
    return f"{mark.value:.1f}" + (f" ± {spread}" if float(spread) else "")


def _line(criterion: Criterion, results: Sequence[Result]) -> CriterionMark:
    found = [result for result in results if criterion.takes(result)]
    if not found:
        return CriterionMark(criterion, None, says="nothing was found for it")
    if criterion.where is Where.MEAN:
        marks = [_marked(criterion, result) for result in found]
        says = f"mean of {len(found)}" if len(found) > 1 else _figure(found[0])
        return CriterionMark(criterion, _mean(marks), tuple(found), len(found), says)
    worst = min(found, key=lambda result: _unclipped(criterion, result.measure))
    says = _figure(worst)
    if len(found) > 1:
        says += f", the worst of {len(found)}"
    return CriterionMark(criterion, _marked(criterion, worst), (worst,), len(found), says)


def _unclipped(criterion: Criterion, measure: Uncertain) -> float:
    """Where a value lies on the scale, beyond its ends too, so that the worst can be told."""
    value = abs(measure.value) if criterion.size else measure.value
    return (value - criterion.zero) / (criterion.ten - criterion.zero)


def _marked(criterion: Criterion, result: Result) -> Uncertain:
    if not criterion.judged:
        return mark_of(criterion, result.measure)
    own = within_limits(f"{result.key or criterion.source} judgement")
    return from_terms(result.value, [(own, resolution(_JUDGED_STEP))])


def _mean(marks: Sequence[Uncertain]) -> Uncertain:
    count = len(marks)
    terms = [(source, term / count) for mark in marks for source, term in mark.terms.items()]
    return from_terms(sum(mark.value for mark in marks) / count, terms)


def _weighted(lines: Sequence[CriterionMark]) -> Uncertain | None:
    marks = [(line.criterion.weight, line.mark) for line in lines if line.mark is not None]
    whole = sum(weight for weight, _ in marks)
    if not whole:
        return None
    value = sum(weight * mark.value for weight, mark in marks) / whole
    return from_terms(
        value,
        [
            (source, term * weight / whole)
            for weight, mark in marks
            for source, term in mark.terms.items()
        ],
    )


def _figure(result: Result) -> str:
    where = filter(None, (result.channel, with_signs(result.load)))
    return ", ".join([format_uncertain(result.measure, result.unit), *where])
