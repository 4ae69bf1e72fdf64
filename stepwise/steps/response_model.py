"""The model of a response with its numbers as uncertain quantities."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stepwise.quantities import Uncertain, from_terms
from stepwise.steps.response import LevelPoint, Response, Side, weighted, with_doubt

if TYPE_CHECKING:
    from stepwise.science import EndOfResponse, ResponseFit

_LEAST_SPREAD_DB = 0.05
"""No level of a hand bench is worth more than this in a fit: contacts and the oscillator's own
flatness are of this order (common practice, no source)."""
_MOST_SHARED = 3
"""Shared errors that a fit takes apart, the strongest; what is left counts to each level."""
_SAME_SHARE = 0.05
"""Relative; errors that shift all levels alike differ from one another by less."""
_FEWEST = 4
_ALIKE_DB = 1e-9


@dataclass(frozen=True, slots=True)
class ResponseModel:
    """A fitted response, and the levels that it was fitted to."""

    fit: ResponseFit
    points: tuple[LevelPoint, ...]
    """In the order of the fit, the reference among them."""
    source: str
    """Begins the names of the errors that only this fit makes."""

    def outliers(self) -> tuple[tuple[LevelPoint, float], ...]:
        """Readings that do not belong, with reading less model [dB], worst first.

        The reference is none of them: it is where all levels are counted from.
        """
        found = []
        for place in self.fit.outliers:
            point = self.points[place]
            if point.key:
                found.append((point, point.level.value - self.fit.level_db(point.hertz)))
        return tuple(found)

    def left_out(self) -> frozenset[float]:
        """Frequencies of the outliers [Hz]."""
        return frozenset(point.hertz for point, _ in self.outliers())

    def lone(self) -> frozenset[float]:
        """Frequencies of the outliers that stand alone [Hz].

        One reading off the curve may be a slip; neighbours that lie off it on the same side are
        the response itself, a notch or a hump that no model here has.
        """
        row = [point.hertz for point in self.points]
        off = {row.index(point.hertz): residual for point, residual in self.outliers()}
        return frozenset(
            row[place]
            for place, residual in off.items()
            if not any(residual * off.get(beside, 0.0) > 0.0 for beside in (place - 1, place + 1))
        )

    def end(self, side: Side) -> EndOfResponse:
        """One end of the fit."""
        return self.fit.low if side == "low" else self.fit.high

    def corner(self, side: Side) -> Uncertain | None:
        """Corner of a first-order end, natural frequency of a second-order end [Hz]."""
        end = self.end(side)
        if end.corner_hertz is None:
            return None
        corner = self._from_logarithm(side, 0, end.corner_hertz)
        doubt = self._other_corners(side) if end.order == 1 else 0.0
        return with_doubt(corner, f"{self.source} {side} model", doubt)

    def quality(self, side: Side) -> Uncertain | None:
        """Quality factor of a second-order end [1]."""
        q = self.end(side).q
        return self._from_logarithm(side, 1, q) if q is not None else None

    def offset(self) -> Uncertain:
        """Level of the flat middle [dB]."""
        parts = zip(self.fit.sensitivity[0].tolist(), self._levels(), strict=True)
        return weighted(self.fit.offset_db, parts)

    def _from_logarithm(self, side: Side, which: int, value: float) -> Uncertain:
        """A number of an end, whose logarithm is what was fitted."""
        place = 1 + which + (self.fit.low.order if side == "high" else 0)
        row = (value * self.fit.sensitivity[place]).tolist()
        number = weighted(value, zip(row, self._levels(), strict=True))
        # Points that the model does not meet widen its numbers by as much as they miss it.
        freedom = max(self.fit.freedom, 1)
        misfit = math.sqrt(max(self.fit.chi_square / freedom - 1.0, 0.0))
        doubt = misfit * value * math.sqrt(float(self.fit.covariance[place, place]))
        return with_doubt(number, f"{self.source} {side} shape {which}", doubt)

    def _levels(self) -> list[Uncertain]:
        """The levels; neighbours that the meter showed alike were rounded alike.

        A row of readings that all say "flat" is no better known than one of them: the pointer
        stood a little off the mark for all, and the eye took it to the mark each time.
        """
        counts = Counter(source for point in self.points for source in point.level.terms)
        levels: list[Uncertain] = []
        run = 0
        for place, point in enumerate(self.points):
            run += place > 0 and abs(point.shown - self.points[place - 1].shown) > _ALIKE_DB
            terms = [
                (source if counts[source] > 1 else f"{self.source} row {run} rounding", term)
                for source, term in point.level.terms.items()
            ]
            levels.append(from_terms(point.level.value, terms))
        return levels

    def _other_corners(self, side: Side) -> float:
        """How far the corner would lie elsewhere in the models that are not ruled out [Hz].

        Source: variance over models by their weights, Burnham and Anderson (from memory).
        """
        own = self.end(side)
        spread = 0.0
        for rival in self.fit.rivals:
            other = rival.low if side == "low" else rival.high
            if own.corner_hertz is None or other.corner_hertz is None:
                continue
            nearest = dominant_corner(other, side)
            spread += rival.weight * (nearest - own.corner_hertz) ** 2
        return math.sqrt(spread)


def dominant_corner(end: EndOfResponse, side: Side) -> float:
    """The corner nearest the middle [Hz]; the natural frequency of a resonant end."""
    separate = end.corners_hertz
    if not separate:
        return end.corner_hertz or 0.0
    return separate[-1] if side == "low" else separate[0]


def fit_model(response: Response, source: str) -> ResponseModel | None:
    """The model that the levels support; None while there are too few.

    Args:
        response: The levels.
        source: Begins the names of the errors that only this fit makes.
    """
    points = response.with_reference()
    if len(points) < _FEWEST:
        return None
    from stepwise.science import fit_response

    standard, shared = _worth(points)
    fit = fit_response(
        [point.hertz for point in points],
        [point.level.value for point in points],
        standard,
        shared or None,
        response.reference,
    )
    return ResponseModel(fit, points, source)


def _worth(points: Sequence[LevelPoint]) -> tuple[list[float], list[list[float]]]:
    """What each level alone is off by, and what one unit of each shared error does to all [dB].

    An error that shifts all levels alike is the reference's own.
    """
    counts = Counter(source for point in points for source in point.level.terms)
    rows = {
        source: [point.level.terms.get(source, 0.0) for point in points]
        for source, count in counts.items()
        if count > 1
    }
    variance = [
        sum(term * term for source, term in point.level.terms.items() if counts[source] == 1)
        for point in points
    ]
    shared = []
    for row in rows.values():
        shift = _shift(row, points)
        if shift:
            variance = [
                each + (0.0 if point.key else shift * shift)
                for each, point in zip(variance, points, strict=True)
            ]
        else:
            shared.append(row)
    shared.sort(key=lambda row: -sum(term * term for term in row))
    for row in shared[_MOST_SHARED:]:
        variance = [each + term * term for each, term in zip(variance, row, strict=True)]
    standard = [max(math.sqrt(each), _LEAST_SPREAD_DB) for each in variance]
    return standard, shared[:_MOST_SHARED]


def _shift(row: Sequence[float], points: Sequence[LevelPoint]) -> float:
    """The amount by which an error moves all levels but the reference alike, or 0 [dB]."""
    moved = [term for term, point in zip(row, points, strict=True) if point.key]
    low, high = min(moved), max(moved)
    middle = 0.5 * (low + high)
    return middle if high - low <= _SAME_SHARE * abs(middle) else 0.0
