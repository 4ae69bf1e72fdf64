"""A sweep as a curve, for the live picture and the report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import median
from typing import TYPE_CHECKING

from stepwise.judge import Result
from stepwise.quantities import require
from stepwise.run.outcome import Curve
from stepwise.steps import SweepFields

if TYPE_CHECKING:
    from stepwise.science import EndOfResponse

_MARKS = (
    "minus_1db_low",
    "minus_3db_low",
    "minus_1db_high",
    "minus_3db_high",
    "corner_low",
    "corner_high",
)
_MODEL_POINTS = 121

Points = tuple[tuple[float, float], ...]


def sweep_curve(step: SweepFields, channel: str | None, results: Sequence[Result]) -> Curve:
    """The points read so far, the limit band, and the model that was fitted to them."""
    own = [each for each in results if each.step == step.id and each.channel == channel]
    read = tuple(
        sorted(
            (require(each.point, "Hz"), each.value)
            for each in own
            if each.name == "level_db" and each.point is not None
        )
    )
    values = {each.name: each.value for each in own}
    planned = tuple(sorted(require(text, "Hz") for text in step.points))
    limit = next(
        (each.judgement.limit for each in own if each.name == "level_db" and each.judgement.limit),
        None,
    )
    band = None
    if step.band is not None:
        band = (require(step.band[0], "Hz"), require(step.band[1], "Hz"))
    outliers = tuple(
        sorted(
            require(each.point, "Hz")
            for each in own
            if each.name == "outlier" and each.point is not None
        )
    )
    return Curve(
        frequencies=tuple(hertz for hertz, _ in read),
        levels_db=tuple(level for _, level in read),
        planned=planned,
        band=band,
        low_db=limit.low if limit is not None else None,
        high_db=limit.high if limit is not None else None,
        marks={name: values[name] for name in _MARKS if name in values},
        model=_model(planned, values, tuple(each for each in read if each[0] not in outliers)),
        outliers=outliers,
    )


def _model(planned: tuple[float, ...], values: Mapping[str, float], read: Points) -> Points:
    """The response of the ends found, laid through the readings; empty where none was found."""
    if not read or not {"corner_low", "corner_high"} & set(values):
        return ()
    import numpy as np

    from stepwise.science import end_level_db

    low, high = _end(values, "low"), _end(values, "high")
    row = np.geomspace(planned[0], planned[-1], _MODEL_POINTS)
    at = np.concatenate((row, [hertz for hertz, _ in read]))
    levels = (end_level_db(at, low, "low") + end_level_db(at, high, "high")).tolist()
    there = levels[_MODEL_POINTS:]
    middle = median(level - model for (_, level), model in zip(read, there, strict=True))
    drawn = zip(row.tolist(), levels[:_MODEL_POINTS], strict=True)
    return tuple((hertz, level + middle) for hertz, level in drawn)


def _end(values: Mapping[str, float], side: str) -> EndOfResponse:
    """One end as its results describe it."""
    from stepwise.science import EndOfResponse

    corner = values.get(f"corner_{side}")
    if corner is None:
        return EndOfResponse(0)
    return EndOfResponse(round(values.get(f"order_{side}", 1.0)), corner, q=values.get(f"q_{side}"))
