"""How many standard uncertainties an interval must be wide to hold the truth often enough.

Limits of error are rectangular, and a rectangle that outweighs all else needs less than the
k = 2 of the normal distribution, while a scatter known from few readings needs more. Both are
answered here from two sums over the terms, without drawing a single random number.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

NORMAL_FACTOR = 2.0
"""k of a normal distribution at the probability used throughout."""
COVERAGE_PROBABILITY = math.erf(NORMAL_FACTOR / math.sqrt(2.0))
"""Share of cases in which the truth is inside [1], 0.9545: "about 95 %" (JCGM 100, G.1.2)."""

EXCESS_OF_RECTANGLE = -1.2
"""Excess kurtosis of a rectangular distribution [1]."""

_HARDLY_FLAT = 0.05
"""Below this share of a rectangle k differs from the normal one by less than 1e-5."""
_MANY = 200.0
"""Degrees of freedom from which Student's t is within 0.6 % of the normal distribution."""
_ROUNDS = 45
_SETTLED = 1e-12


def coverage_factor(terms: Iterable[tuple[float, float, float]]) -> float:
    """Factor k of a sum of independent errors, for `COVERAGE_PROBABILITY`.

    Args:
        terms: Standard uncertainty (any one unit), excess kurtosis [1] and degrees of freedom
            [1] of each source.

    Returns:
        k [1]: 2 for normal terms, 1.65 for one rectangle, more where few readings were repeated.

    Source:
        Shape: the sum of one rectangle and one normal distribution that has the variance and
        the fourth cumulant of the whole; exact for a rectangle alone and for a rectangle with
        normal terms (JCGM 100:2008, G.6.5 and EA-4/02 S9.14, from memory, treat the rectangle
        that outweighs all else). Freedom: Welch and Satterthwaite, JCGM 100:2008, G.4.1.

    Example:
        >>> round(coverage_factor([(0.05, -1.2, math.inf)]), 3)
        1.653
    """
    square = fourth = uneven = 0.0
    listed = [each for each in terms if each[0]]
    largest = max((abs(term) for term, _, _ in listed), default=0.0)
    if not largest or not math.isfinite(largest):
        return NORMAL_FACTOR
    for term, excess, freedom in listed:
        # Over the largest, since fourth powers of small voltages leave the range of floats.
        share = (term / largest) ** 2
        square += share
        fourth += excess * share * share
        uneven += share * share / freedom
    flat = min(1.0, max(0.0, fourth / square**2 / EXCESS_OF_RECTANGLE))
    freedom = square**2 / uneven if uneven else math.inf
    return _shape_factor(flat**0.25) * student_factor(freedom) / NORMAL_FACTOR


def student_factor(freedom: float) -> float:
    """Quantile of Student's t, two-sided, for `COVERAGE_PROBABILITY`.

    Args:
        freedom: Degrees of freedom [1], > 0; truncated to the next lower integer, at least 1.

    Returns:
        t [1].

    Source:
        JCGM 100:2008, G.3 and G.4.2; distribution function of Abramowitz and Stegun, 26.7.3
        and 26.7.4 (from memory).

    Example:
        >>> round(student_factor(4.9), 4)
        2.8693
    """
    if freedom >= _MANY:
        return NORMAL_FACTOR
    whole = max(1, math.floor(freedom))
    low, high = 0.0, math.pi / 2.0
    for _ in range(_ROUNDS):
        middle = 0.5 * (low + high)
        if _student_inside(middle, whole) < COVERAGE_PROBABILITY:
            low = middle
        else:
            high = middle
    return math.sqrt(whole) * math.tan(0.5 * (low + high))


def _student_inside(angle: float, freedom: int) -> float:
    """Probability that |t| is below sqrt(freedom) tan(angle)."""
    is_odd = freedom % 2 == 1
    cosine = math.cos(angle)
    term = cosine if is_odd else 1.0
    total = 0.0
    for order in range(1 if is_odd else 0, freedom - 1, 2):
        total += term
        term *= cosine * cosine * (order + 1) / (order + 2)
    inside = math.sin(angle) * total
    return (angle + inside) * 2.0 / math.pi if is_odd else inside


def _shape_factor(share: float) -> float:
    """Factor k for a rectangle with `share` of the standard uncertainty, the rest normal."""
    if share < _HARDLY_FLAT:
        return NORMAL_FACTOR
    half_width = math.sqrt(3.0) * share
    rest = math.sqrt(max(0.0, 1.0 - share * share))
    if rest < 1e-6:
        return COVERAGE_PROBABILITY * half_width
    low, high, factor = 1.5, 2.2, NORMAL_FACTOR
    for _ in range(_ROUNDS):
        inside = _reach(factor + half_width, rest) - _reach(factor - half_width, rest)
        lacking = 2.0 * half_width * COVERAGE_PROBABILITY - inside
        low, high = (factor, high) if lacking > 0.0 else (low, factor)
        # Newton's step, or half the bracket where it would leave it: every figure that is
        # shown comes through here, and halving alone takes ten times as long.
        slope = _density(factor + half_width, rest) - _density(factor - half_width, rest)
        following = factor + lacking / slope if slope > 0.0 else low
        if not low < following < high:
            following = 0.5 * (low + high)
        if abs(following - factor) < _SETTLED:
            return following
        factor = following
    return factor


def _density(distance: float, rest: float) -> float:
    """Slope of `_reach`."""
    return math.erf(distance / (rest * math.sqrt(2.0)))


def _reach(distance: float, rest: float) -> float:
    """Integral of erf(x / (rest sqrt 2)), up to a constant that cancels in differences."""
    z = distance / rest
    bell = math.exp(-0.5 * z * z) * math.sqrt(2.0 / math.pi)
    return rest * (z * math.erf(z / math.sqrt(2.0)) + bell)
