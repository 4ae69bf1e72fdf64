"""The -1 dB and -3 dB points of a response, interpolated between its readings."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

from stepwise.quantities import Uncertain, rectangular, within_limits
from stepwise.steps.response import LevelPoint, Response, Side, weighted, with_doubt
from stepwise.steps.response_model import ResponseModel
from stepwise.steps.work import PassWork

if TYPE_CHECKING:
    from collections.abc import Callable

    from stepwise.science import Crossing

DROPS = (1.0, 3.0)
"""[dB]"""

_MOST_DOUBT = 0.35
"""A point that is not known better than this share of itself is not told [1]."""

_FITTED_DOUBT = 0.03
"""Share of the bend between two readings that a fitted guide may still have wrong [1]; without a
fit it is all of it (common practice, no source)."""


def work_out_crossings(response: Response, model: ResponseModel | None, work: PassWork) -> None:
    """Enter the -1 dB and -3 dB points of both ends as far as the readings enclose them."""
    left_out = model.lone() if model is not None else frozenset()
    for side in ("low", "high"):
        row = response.outwards(side, left_out)
        for drop in DROPS:
            pair = _enclosing(response, row, drop)
            if pair is None:
                continue
            point = _point(pair, drop, side, model, work)
            if point is not None:
                name, label = f"minus_{drop:.0f}db_{side}", f"-{drop:.0f} dB, {side} end"
                # All that were looked at: one read anew may bring the first fall nearer.
                work.put(name, label, point, "Hz", response.keys(row))


def _enclosing(
    response: Response, row: tuple[LevelPoint, ...], drop: float
) -> tuple[LevelPoint, LevelPoint] | None:
    """The neighbours between which the response first falls so far, unless more lie between."""
    for inner, outer in pairwise(row):
        if outer.level.value <= -drop < inner.level.value:
            return None if response.is_open(inner, outer) else (inner, outer)
    return None


def _point(
    pair: tuple[LevelPoint, LevelPoint],
    drop: float,
    side: Side,
    model: ResponseModel | None,
    work: PassWork,
) -> Uncertain | None:
    inner, outer = pair
    crossing, doubt = _crossing(pair, drop, side, model)
    if crossing is None:
        return None
    value = weighted(
        crossing.hertz, [(crossing.by_inner, inner.level), (crossing.by_outer, outer.level)]
    )
    source = within_limits(f"{work.at.key} {side} -{drop:.0f} dB interpolation")
    point = with_doubt(value, source, doubt)
    return point if point.standard_uncertainty < _MOST_DOUBT * point.value else None


def _crossing(
    pair: tuple[LevelPoint, LevelPoint], drop: float, side: Side, model: ResponseModel | None
) -> tuple[Crossing | None, float]:
    """Where it is, and the standard uncertainty [Hz] that comes of not knowing the shape."""
    from stepwise.science import guided_crossing

    inner, outer = ((point.hertz, point.level.value) for point in pair)
    # The flank of a notch is no part of the curve.
    is_on_curve = model is not None and model.left_out().isdisjoint((inner[0], outer[0]))
    fitted = model is not None and is_on_curve and model.end(side).order > 0
    guide: Callable[[Any], Any]
    guide = model.fit.level_db if model is not None and fitted else _first_order(outer, side)
    try:
        crossing = guided_crossing(inner, outer, drop, guide)
        straight = guided_crossing(inner, outer, drop, lambda hertz: 0.0 * hertz)
    except ValueError:
        return None, 0.0
    share = _FITTED_DOUBT if fitted else 1.0
    return crossing, rectangular(share * abs(crossing.hertz - straight.hertz))


def _first_order(outer: tuple[float, float], side: Side) -> Callable[[Any], Any]:
    """The first-order response through one reading: what most ends look like."""
    from stepwise.science import (
        corner_from_reading_high,
        corner_from_reading_low,
        first_order_highpass_db,
        first_order_lowpass_db,
    )

    if side == "low":
        low = corner_from_reading_low(*outer)
        return lambda hertz: first_order_highpass_db(hertz, low)
    high = corner_from_reading_high(*outer)
    return lambda hertz: first_order_lowpass_db(hertz, high)
