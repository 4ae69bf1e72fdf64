"""When a difference counts: beyond what honest meters can make of it.

Every family asks here, so that "surely" means one thing in all of them.
"""

from __future__ import annotations

from stepwise.quantities import Uncertain, from_terms

SURE = 3.0
"""Standard uncertainties beyond which a difference counts.

One side of a normal distribution leaves 0.13 % beyond it. A meter at its limit of error is only
1.7 off (a rectangular limit is root 3 standard uncertainties), so one honest meter alone never
gets there; a run that makes a hundred such comparisons stays well below one false flag in
a hundred runs once each has a margin of its own for what is no error of a meter.
"""

MAINS_DRIFT = 0.02
"""Share by which the mains moves between two readings minutes apart [1]: common practice, no
source. (Over a week EN 50160 allows 10 % either way, from memory.)"""


def difference(first: Uncertain, second: Uncertain) -> Uncertain:
    """`first` less `second`; what both owe to the same range of the same meter cancels."""
    terms = [*first.terms.items(), *((source, -term) for source, term in second.terms.items())]
    return from_terms(first.value - second.value, terms)


def surely_above(measure: Uncertain, edge: float) -> bool:
    """Whether the true value lies above `edge` [unit of `measure`], whatever the meters did."""
    return measure.value - SURE * measure.standard_uncertainty > edge


def surely_below(measure: Uncertain, edge: float) -> bool:
    """Whether the true value lies below `edge` [unit of `measure`], whatever the meters did."""
    return measure.value + SURE * measure.standard_uncertainty < edge


def size(measure: Uncertain) -> Uncertain:
    """The same without its sign: a negative rail as a height."""
    return measure.scaled(-1.0) if measure.value < 0 else measure
