"""The coupling capacitor that a low corner stands for, and the one that would cure it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from stepwise.judge import Result
from stepwise.quantities import Uncertain, propagate
from stepwise.steps.response import Response
from stepwise.steps.response_ends import is_two_corners
from stepwise.steps.response_model import ResponseModel, dominant_corner
from stepwise.steps.work import PassWork

Series = Literal["E6", "E12"]


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What the low end shall do: fall by no more than this at that edge."""

    hertz: float
    drop_db: float


def work_out_capacitor(
    response: Response,
    model: ResponseModel | None,
    resistance: Uncertain | None,
    series: Series,
    work: PassWork,
) -> None:
    """Enter the capacitor that the low corner implies, and the cure where one is needed.

    Of two separate corners the upper one is taken for the capacitor's; a resonant end is no
    matter of one capacitor.

    Args:
        response: The levels.
        model: The fit.
        resistance: What the capacitor works into [ohm]; None where it is not known.
        series: Preferred values to choose from.
        work: Where results go.
    """
    corner = _find(work, "corner_low")
    if corner is None or model is None or resistance is None:
        return
    from stepwise.science import coupling_capacitance

    hertz, other = _corner_of_capacitor(model, corner.measure, _find(work, "q_low"))
    if hertz is None:
        return
    implied = propagate(coupling_capacitance, hertz, resistance)
    work.put("coupling_capacitance", "Coupling capacitor implied", implied, "F", corner.basis)
    wanted = _wanted(response, model, work)
    if wanted is None:
        return
    value = _cure(wanted, other, resistance.value, series)
    if value is not None and value > implied.value:
        cure = Uncertain(value)
        work.put("cure_capacitance", "Capacitor that would do", cure, "F", corner.basis)


def _find(work: PassWork, name: str) -> Result | None:
    return next((each for each in work.results if each.name == name), None)


def _corner_of_capacitor(
    model: ResponseModel, corner: Uncertain, quality: Result | None
) -> tuple[Uncertain | None, float | None]:
    """The capacitor's corner, and another corner beside it [Hz]."""
    if quality is None:
        return corner, None
    if not is_two_corners(quality.measure):
        return None, None

    def upper(natural: float, q: float) -> float:
        from stepwise.science import EndOfResponse

        return dominant_corner(EndOfResponse(2, natural, q=q), "low")

    try:
        return propagate(upper, corner, quality.measure), model.fit.low.corners_hertz[0]
    except ValueError:
        return None, None


def _wanted(response: Response, model: ResponseModel, work: PassWork) -> _Wanted | None:
    """The limit that the low end misses: on the -3 dB point, else on the level in the band."""
    point = _find(work, "minus_3db_low")
    limit = point.judgement.limit if point is not None else None
    if point is not None and limit is not None and limit.high is not None:
        return _Wanted(limit.high, 3.0) if point.value > limit.high else None
    if response.band is None:
        return None
    edge = response.band[0]
    least = work.known.limit(work.limit_fields("level_db"), "dB", work.at)
    if least is None or least.low is None or least.low >= 0.0:
        return None
    level = model.fit.level_db(edge) - model.fit.offset_db
    return _Wanted(edge, -least.low) if level < least.low else None


def _cure(wanted: _Wanted, other: float | None, resistance: float, series: Series) -> float | None:
    """The smallest preferred value that does it [F]; None where another corner forbids it."""
    from stepwise.science import (
        corner_for_drop,
        coupling_capacitance,
        first_order_highpass_db,
        next_preferred_up,
    )

    left = wanted.drop_db
    if other is not None:
        left += first_order_highpass_db(wanted.hertz, other)
    if left <= 0.0:
        return None
    needed = coupling_capacitance(corner_for_drop(wanted.hertz, left), resistance)
    return next_preferred_up(needed, series)
