"""How well a pointer's range was chosen: what a reading used of its scale."""

from __future__ import annotations

from stepwise.bench import Meter
from stepwise.quantities import Understood

_END_STOP = 1.02
"""Share of full scale that a pointer reads beyond its last mark (common practice, no source)."""
_ROOM = 0.9
"""Share of a lower range that must hold it [1]: nobody goes down to a pointer at its end stop
(common practice, no source)."""


def scale_use(understood: Understood, meter: Meter | None) -> tuple[float | None, float | None]:
    """Share of full scale [1], and the full scale of a lower range that would have held it.

    Where no range was named the lowest that holds the value is assumed, and nothing can be said
    of it, unless none holds it: then the share is that of the highest, above 1. The second is
    None where no lower range would do. A pointer on a range is where it was typed to be; an
    amount stands on the scale in the form that the meter reads, whatever it was typed in.
    """
    volts = understood.volts if understood.unit == "dB" else understood.value
    if meter is None or volts is None or not meter.ranges:
        return None, None
    if understood.unit not in (meter.unit, "dB"):
        return None, None  # volts across a resistor: who knows on which range
    shown = abs(volts / understood.multiplier)
    full_scale = understood.range_full_scale
    if full_scale is not None or understood.typed_form is meter.form:
        shown /= understood.conversion
    if full_scale is None:
        highest = meter.ranges[-1]
        return (shown / highest if shown > _END_STOP * highest else None), None
    lower = (each for each in meter.ranges if shown <= each * _ROOM and each < full_scale)
    return shown / full_scale, min(lower, default=None)
