"""Corner, order, Q and slope of the two ends of a response."""

from __future__ import annotations

from itertools import pairwise

from stepwise.quantities import Uncertain, exact, format_value
from stepwise.steps.response import LevelPoint, Response, Side, is_wide, weighted
from stepwise.steps.response_model import ResponseModel
from stepwise.steps.work import PassWork

_SEEN_FROM = 0.5
"""A corner is told once its end departs this far from the middle [dB]: below it the departure
is of the order of what a pointer can tell, and the corner would be a guess."""
_MOST_DOUBT = 0.3
"""A corner or Q that is not known better than this share of itself is not told [1]."""


def work_out_ends(response: Response, model: ResponseModel | None, work: PassWork) -> None:
    """Enter what the model says of both ends, and how steeply the readings fall there."""
    for side in ("low", "high"):
        if model is not None and _is_told(response, model, side):
            _end(response, model, side, work)
        _slope(response, model, side, work)


def _is_told(response: Response, model: ResponseModel, side: Side) -> bool:
    """Whether the readings follow the end without a gap until it is level with the middle."""
    row = response.outwards(side, model.left_out())
    middle = model.fit.offset_db
    inwards = row[::-1]
    if all(abs(point.level.value - middle) < _SEEN_FROM for point in row):
        return False
    for outer, inner in pairwise(inwards):
        if response.is_open(outer, inner):
            return False
        if abs(inner.level.value - middle) < _SEEN_FROM:
            return True
    return True


def _end(response: Response, model: ResponseModel, side: Side, work: PassWork) -> None:
    corner, quality = model.corner(side), model.quality(side)
    if corner is None or not _is_known(corner):
        return
    if quality is not None and not _is_known(quality):
        return
    keys = response.keys(response.outwards(side, model.left_out()))
    work.put(f"corner_{side}", _corner_label(model, side, quality), corner, "Hz", keys)
    order = exact(float(model.end(side).order))
    work.put(f"order_{side}", f"Order, {side} end", order, "", keys)
    if quality is not None:
        work.put(f"q_{side}", f"Q, {side} end", quality, "", keys)


def _is_known(measure: Uncertain) -> bool:
    return measure.standard_uncertainty < _MOST_DOUBT * measure.value


def _corner_label(model: ResponseModel, side: Side, quality: Uncertain | None) -> str:
    if quality is None:
        return f"Corner, {side} end"
    if not is_two_corners(quality):
        return f"Corner, {side} end, second order"
    first, second = (format_value(hertz, "Hz", digits=2) for hertz in model.end(side).corners_hertz)
    return f"Corner, {side} end, two near {first} and {second}"


def is_two_corners(quality: Uncertain) -> bool:
    """Whether a Q lies so far below one half that its two corners stand apart."""
    return quality.value + quality.standard_uncertainty < 0.5


def _slope(response: Response, model: ResponseModel | None, side: Side, work: PassWork) -> None:
    """How steeply the outermost readings fall, once no more are to come there."""
    row = response.outwards(side, model.left_out() if model is not None else frozenset())
    if len(row) < 2 or is_wide(row[-2], row[-1]) or _goes_on(response, row, side):
        return
    from stepwise.science import end_slope_weights

    weights = end_slope_weights([point.hertz for point in row], side).tolist()
    used = [(weight, point) for weight, point in zip(weights, row, strict=True) if weight]
    value = sum(weight * point.level.value for weight, point in used)
    slope = weighted(value, [(weight, point.level) for weight, point in used])
    keys = response.keys(point for _, point in used)
    work.put(f"slope_{side}", f"Slope, {side} end", slope, "dB/octave", keys)


def _goes_on(response: Response, row: tuple[LevelPoint, ...], side: Side) -> bool:
    """Whether a frequency beyond the outermost two readings, or between them, is to come."""
    if side == "low":
        return response.awaits(0.0, row[-2].hertz)
    return response.awaits(row[-2].hertz, float("inf"))
