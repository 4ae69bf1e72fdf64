"""A value that knows where its uncertainty comes from, and carries it through arithmetic.

An `Uncertain` keeps one signed term for every *source* of error: the class of a meter's range,
the resolution of one look at the pointer, a load's tolerance. Two values that share a source
are correlated exactly as far as they share it, so a ratio of two readings on the same range
does not count the meter's error twice. This is the law of propagation of uncertainty with
correlated inputs (JCGM 100:2008, 5.1.2 and 5.2.2), written so that the correlation needs no
matrix: the sources are independent, the values are linear in them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from stepwise.quantities.coverage import EXCESS_OF_RECTANGLE, coverage_factor

_STEP = 0.01
"""Difference taken for a sensitivity, as a share of the input's standard uncertainty."""


_PLAIN = 0.0, math.inf, False
"""Spread of a source that is a plain string: excess, freedom, whether it is the least."""


class Source(str):
    """Name of a source of error that knows how its errors are spread.

    A plain string is a source with a normal distribution and no want of readings. Two sources
    of the same name are the same source.
    """

    __slots__ = ("excess", "freedom", "is_least")

    excess: float
    """Excess kurtosis of its errors [1]: -1.2 rectangular, 0 normal."""
    freedom: float
    """Degrees of freedom of its standard uncertainty [1]."""
    is_least: bool
    """Nobody knows how much it brings; what stands for it is the least that it can be."""

    def __new__(
        cls, name: str, excess: float = 0.0, freedom: float = math.inf, is_least: bool = False
    ) -> Source:
        """Name a source."""
        source = super().__new__(cls, name)
        source.excess = excess
        source.freedom = freedom
        source.is_least = is_least
        return source

    def __getnewargs__(self) -> tuple[str, float, float, bool]:  # type: ignore[override]
        return str(self), self.excess, self.freedom, self.is_least

    @property
    def is_plain(self) -> bool:
        """Whether it is no more than its name says: normal, and well known."""
        return _spread(self) == _PLAIN

    def renamed(self, name: str) -> Source:
        """The same kind of source under another name."""
        return Source(name, self.excess, self.freedom, self.is_least)


def within_limits(name: str) -> Source:
    """A source whose error lies anywhere within its limits, as likely here as there.

    Source: JCGM 100:2008, 4.3.7.
    """
    return Source(name, EXCESS_OF_RECTANGLE)


def last_digit(name: str) -> Source:
    """A source of which nothing is known but how finely its reading was written down.

    It stands for an instrument that nobody names. Whatever it has a part in knows no more.
    """
    return Source(name, EXCESS_OF_RECTANGLE, is_least=True)


@dataclass(frozen=True, slots=True)
class Uncertain:
    """An estimate with its standard uncertainty, split by source."""

    value: float
    """The estimate, in whatever unit its owner says."""
    terms: Mapping[str, float] = field(default_factory=dict)
    """Source name -> signed standard uncertainty that it brings, in the unit of `value`."""

    @property
    def is_least(self) -> bool:
        """Whether the uncertainty is only the least that it can be: see `last_digit`."""
        return any(isinstance(source, Source) and source.is_least for source in self.terms)

    @property
    def standard_uncertainty(self) -> float:
        """Combined standard uncertainty (k = 1), unit of `value`. Source: JCGM 100, 5.1.2."""
        return math.hypot(*self.terms.values())

    @property
    def coverage_factor(self) -> float:
        """Factor k [1] from standard to expanded uncertainty; follows the shape of the terms."""
        return coverage_factor(
            (term, source.excess, source.freedom)
            if isinstance(source, Source)
            else (term, 0.0, math.inf)
            for source, term in self.terms.items()
        )

    @property
    def expanded_uncertainty(self) -> float:
        """Half-width that holds the truth in about 95 % of cases, unit of `value`.

        Source: JCGM 100, 6.2.1, with k as JCGM 100, annex G has it.
        """
        return self.coverage_factor * self.standard_uncertainty

    @property
    def stated_uncertainty(self) -> float | None:
        """The expanded uncertainty for a record; None where nobody knows it (`is_least`)."""
        return None if self.is_least else self.expanded_uncertainty

    def __eq__(self, other: object) -> bool:
        """Whether value, terms and the spread of every source are the same.

        Two sources of one name are one source, however each is said to be spread; two values are
        equal only where their factor k and what is known of them are so too.
        """
        if self is other:
            return True
        if not isinstance(other, Uncertain):
            return NotImplemented
        if self.value != other.value or self.terms != other.terms:
            return False
        spreads = {source: source for source in other.terms}
        return all(
            mine is (theirs := spreads[mine]) or _spread(mine) == _spread(theirs)
            for mine in self.terms
        )

    def scaled(self, factor: float) -> Uncertain:
        """The same value in another unit: everything times `factor` [1]."""
        return Uncertain(
            self.value * factor,
            {source: term * factor for source, term in self.terms.items()},
        )


def _spread(source: str) -> tuple[float, float, bool]:
    if isinstance(source, Source):
        return source.excess, source.freedom, source.is_least
    return _PLAIN


def exact(value: float) -> Uncertain:
    """A value without uncertainty: a definition, or a setting that is taken as given."""
    return Uncertain(value)


def from_terms(value: float, terms: Iterable[tuple[str, float]]) -> Uncertain:
    """A value with its terms; terms of the same source add before they are squared.

    Args:
        value: The estimate.
        terms: Pairs of source name and signed standard uncertainty, unit of `value`.
    """
    summed: dict[str, float] = {}
    for source, term in terms:
        summed[source] = summed.get(source, 0.0) + term
    return Uncertain(value, {source: term for source, term in summed.items() if term})


def rectangular(half_width: float) -> float:
    """Standard uncertainty of an error that lies anywhere within +-`half_width`.

    Source: JCGM 100:2008, 4.3.7 (a / sqrt 3).
    """
    return half_width / math.sqrt(3.0)


def resolution(step: float) -> float:
    """Standard uncertainty of a reading rounded to multiples of `step`.

    Source: JCGM 100:2008, F.2.2.1 (step / sqrt 12).
    """
    return step / math.sqrt(12.0)


def covariance(first: Uncertain, second: Uncertain) -> float:
    """Covariance of two values through the sources that they share (JCGM 100, 5.2.2)."""
    return sum(
        term * second.terms[source]
        for source, term in first.terms.items()
        if source in second.terms
    )


def correlation(first: Uncertain, second: Uncertain) -> float:
    """Correlation coefficient [1] of two values; 0.0 where either is exact."""
    scale = first.standard_uncertainty * second.standard_uncertainty
    return covariance(first, second) / scale if scale else 0.0


def propagate(function: Callable[..., float], *inputs: Uncertain) -> Uncertain:
    """Put uncertain inputs through a function of plain floats.

    The sensitivity to each input is taken by a central difference over a hundredth of its
    standard uncertainty: JCGM 100:2008, 5.1.3 note 2 offers differences in place of partial
    derivatives, and they keep the physics free of any knowledge of uncertainty. Over a whole
    uncertainty the curvature of a ratio would show; over a hundredth it is below 1e-6.

    Args:
        function: Takes one float for each input, returns a float.
        *inputs: The uncertain arguments, in order.

    Returns:
        The function's value with every source's term propagated and summed with its sign.

    Raises:
        ValueError: Whatever `function` raises for the estimates themselves. A nudge that
            leaves the domain of `function` falls back to a one-sided difference.
    """
    values = [each.value for each in inputs]
    centre = function(*values)
    terms: list[tuple[str, float]] = []
    for place, each in enumerate(inputs):
        spread = each.standard_uncertainty
        if not spread:
            continue
        slope = _slope(function, values, place, spread, centre)
        terms.extend((source, slope * term) for source, term in each.terms.items())
    return from_terms(centre, terms)


def _slope(
    function: Callable[..., float], values: list[float], place: int, spread: float, centre: float
) -> float:
    """Central difference; at an edge of the domain, the side there is, over all of `spread`."""
    step = _STEP * spread or spread  # the smallest floats have no hundredth
    above = _nudged(function, values, place, step)
    below = _nudged(function, values, place, -step)
    if above is not None and below is not None:
        return (above - below) / (2.0 * step)
    for side in (spread, -spread):
        there = _nudged(function, values, place, side)
        if there is not None:
            return (there - centre) / side
    raise ValueError("the result cannot be had on either side of the reading")


def _nudged(
    function: Callable[..., float], values: list[float], place: int, step: float
) -> float | None:
    nudged = list(values)
    nudged[place] += step
    try:
        outcome = function(*nudged)
    except (ValueError, ZeroDivisionError, OverflowError):
        return None
    return outcome if math.isfinite(outcome) else None
