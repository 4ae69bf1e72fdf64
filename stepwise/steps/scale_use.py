"""How well a pointer's range was chosen: what a reading used of its scale."""

from __future__ import annotations

from stepwise.bench import Meter
from stepwise.quantities import Understood

_GRACE = 1.02
"""A pointer reads this far beyond its last mark (common practice, no source)."""

_ROOM = 0.9
"""Share of a lower range that must hold it [1]: nobody goes down to a pointer at its end stop
(common practice, no source)."""


def scale_use(understood: Understood, meter: Meter | None) -> tuple[float | None, float | None]:
    """Share of full scale [1], and the full scale of a lower range that would have held it.

    Both are None where no range was named: then the lowest that holds the value is assumed,
    and nothing can be said of it. The second is None where no lower range would do.
    """
    full_scale = understood.range_full_scale
    volts = understood.volts if understood.unit == "dB" else understood.value
    if meter is None or full_scale is None or volts is None:
        return None, None
    shown = abs(volts / (understood.multiplier * understood.conversion))
    lower = (each for each in meter.ranges if shown <= each * _ROOM and each < full_scale)
    return shown / full_scale, min(lower, default=None)
