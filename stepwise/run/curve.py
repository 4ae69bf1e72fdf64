"""A sweep as a curve, for the live picture and the report."""

from __future__ import annotations

from collections.abc import Sequence

from stepwise.judge import Result
from stepwise.quantities import require
from stepwise.run.outcome import Curve
from stepwise.steps import SweepFields

_MARKS = (
    "minus_1db_low",
    "minus_3db_low",
    "minus_1db_high",
    "minus_3db_high",
    "corner_low",
    "corner_high",
)
_MODEL_POINTS = 121


def sweep_curve(step: SweepFields, channel: str | None, results: Sequence[Result]) -> Curve:
    """The points read so far, the limit band, and the model through the corners found."""
    own = [each for each in results if each.step == step.id and each.channel == channel]
    read = sorted(
        (require(each.point, "Hz"), each.value)
        for each in own
        if each.name == "level_db" and each.point is not None
    )
    marks = {each.name: each.value for each in own if each.name in _MARKS}
    planned = tuple(sorted(require(text, "Hz") for text in step.points))
    limit = next(
        (each.judgement.limit for each in own if each.name == "level_db" and each.judgement.limit),
        None,
    )
    band = None
    if step.band is not None:
        band = (require(step.band[0], "Hz"), require(step.band[1], "Hz"))
    return Curve(
        frequencies=tuple(hertz for hertz, _ in read),
        levels_db=tuple(level for _, level in read),
        planned=planned,
        band=band,
        low_db=limit.low if limit is not None else None,
        high_db=limit.high if limit is not None else None,
        marks=marks,
        model=_model(planned, marks, require(step.reference, "Hz")),
    )


def _model(
    planned: tuple[float, ...], marks: dict[str, float], reference: float
) -> tuple[tuple[float, float], ...]:
    """The first-order response of the corners found, 0 dB at the reference."""
    if "corner_low" not in marks and "corner_high" not in marks:
        return ()
    import math

    from stepwise.science import first_order_highpass_db, first_order_lowpass_db

    def level(hertz: float) -> float:
        low = marks.get("corner_low")
        high = marks.get("corner_high")
        total = first_order_highpass_db(hertz, low) if low else 0.0
        return float(total + (first_order_lowpass_db(hertz, high) if high else 0.0))

    start, stop = math.log10(planned[0]), math.log10(planned[-1])
    span = (stop - start) / (_MODEL_POINTS - 1)
    at_reference = level(reference)
    row = (10.0 ** (start + place * span) for place in range(_MODEL_POINTS))
    return tuple((hertz, level(hertz) - at_reference) for hertz in row)
