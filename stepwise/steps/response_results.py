"""What a row of levels shows: everything that is one for the whole sweep."""

from __future__ import annotations

import math
from collections import Counter

from stepwise.quantities import Uncertain, from_terms, rectangular, within_limits
from stepwise.steps.response import LevelPoint, Response, with_doubt
from stepwise.steps.response_capacitor import Series, work_out_capacitor
from stepwise.steps.response_crossings import work_out_crossings
from stepwise.steps.response_ends import work_out_ends
from stepwise.steps.response_model import ResponseModel, fit_model
from stepwise.steps.work import PassWork

_LEAST_HUMP_DB = 0.5
_HUMP_DEVIATIONS = 3.0
"""A hump is told from this many standard uncertainties of the difference that makes it."""


def work_out_response(
    response: Response, work: PassWork, resistance: Uncertain | None, series: Series
) -> None:
    """Enter everything that the row shows.

    Args:
        response: The levels.
        work: Where results go.
        resistance: What the coupling capacitor works into [ohm], or None.
        series: Preferred values for the capacitor that would do.
    """
    model = fit_model(response, work.at.key)
    work_out_crossings(response, model, work)
    work_out_ends(response, model, work)
    work_out_capacitor(response, model, resistance, series, work)
    _flatness(response, work)
    _peaks(response, model, work)
    if model is not None:
        _outliers(response, model, work)


def _flatness(response: Response, work: PassWork) -> None:
    """The largest deviation in the band, once all of the band is read."""
    if response.band is None or any(_inside(response, hertz) for hertz in response.awaited):
        return
    inside = [point for point in response.points if _inside(response, point.hertz)]
    if len(inside) < 2:
        return
    worst = max(inside, key=lambda point: abs(point.level.value)).level
    flatness = worst.scaled(math.copysign(1.0, worst.value))
    keys = response.keys(inside)
    work.put("flatness", "Flatness in the band", flatness, "dB", keys)


def _inside(response: Response, hertz: float) -> bool:
    return response.band is not None and response.band[0] <= hertz <= response.band[1]


def _peaks(response: Response, model: ResponseModel | None, work: PassWork) -> None:
    """Humps above the reference, each at the reading that is its top."""
    from stepwise.science import response_peaks

    left_out = model.left_out() if model is not None else frozenset()
    row = [point for point in response.with_reference() if point.hertz not in left_out]
    if len(row) < 3:
        return
    least = max(_LEAST_HUMP_DB, _HUMP_DEVIATIONS * math.sqrt(2.0) * _own_spread(row))
    places = {point.hertz: place for place, point in enumerate(row)}
    hertz, levels = [point.hertz for point in row], [point.level.value for point in row]
    for peak in response_peaks(hertz, levels, least):
        place = places[peak.hertz]
        below, top, above = row[place - 1], row[place], row[place + 1]
        if response.is_open(below, top) or response.is_open(top, above):
            continue
        keys = response.keys((top,))
        work.put("peak_db", "Peak", top.level, "dB", keys, top.text or None)
        at = _peak_frequency(below, top, above, work)
        work.put("peak_frequency", "Peak at", at, "Hz", keys, top.text or None)


def _own_spread(row: list[LevelPoint]) -> float:
    """What the eye adds to each reading, not to others too [dB]."""
    # The reference, 0 dB by definition, has no terms, and a level of 0 dB none of the scale's.
    counts = Counter(source for point in row for source in point.level.terms)
    return max(
        math.hypot(*(term for source, term in point.level.terms.items() if counts[source] == 1))
        for point in row
    )


def _peak_frequency(
    below: LevelPoint, top: LevelPoint, above: LevelPoint, work: PassWork
) -> Uncertain:
    """The top lies anywhere half-way to the neighbours, on a decade axis."""
    half = 0.25 * math.log(above.hertz / below.hertz)
    source = within_limits(f"{work.at.prompt_key(top.text)} peak between readings")
    return from_terms(top.hertz, [(source, rectangular(half) * top.hertz)])


def _outliers(response: Response, model: ResponseModel, work: PassWork) -> None:
    """Name each reading that does not belong, by how far it lies off the curve."""
    row = [point.hertz for point in model.points]
    for point, residual in model.outliers():
        place = row.index(point.hertz)
        below = row[place - 1] if place else 0.0
        above = row[place + 1] if place + 1 < len(row) else math.inf
        if response.awaits(below, above):
            # What comes next to it may show that the response does bend there.
            continue
        measure = with_doubt(
            Uncertain(residual, point.level.terms),
            f"{model.source} curve",
            model.offset().standard_uncertainty,
        )
        work.put("outlier", "Off the curve by", measure, "dB", (point.key,), point.text)
