"""What was read off an oscilloscope is worth: by eye from its screen, or from a capture."""

from __future__ import annotations

import math

from stepwise.bench.accuracy import Accuracy, ScaleResolution
from stepwise.bench.bench import Bench, Meter, MeterType
from stepwise.quantities import (
    Source,
    Uncertain,
    Understood,
    from_terms,
    rectangular,
    resolution,
    within_limits,
)

EYE = ScaleResolution(0.1, None)
"""A graticule is read to a tenth of a division: common practice, no source. A line of the trace
lies within half of that of where it is read."""
_COMMON = Meter("oscilloscope", MeterType.OSCILLOSCOPE, Accuracy(of_reading=0.03), resolution=EYE)
"""What is taken for an oscilloscope that the bench does not describe: 3 % of a reading, common
for ones with a screen to be read by eye (common practice, no source)."""
_STRETCH = 5.0
"""Divisions over which a person spreads what is to be timed, at most."""
_STEPS = (1.0, 2.0, 5.0, 10.0)
"""Steps of a time base within a decade."""


def oscilloscope(bench: Bench) -> Meter:
    """The bench's oscilloscope, or a common one where it describes none.

    Args:
        bench: The bench.
    """
    return bench.graticule() or _COMMON


def stated_scales(bench: Bench) -> float | None:
    """Limit of error of the scales of the bench's oscilloscope, share of a reading [1].

    Args:
        bench: The bench.

    Returns:
        The limit, the same for volts and for seconds; None where it describes no oscilloscope.
    """
    scope = bench.graticule()
    return None if scope is None else _limit(scope)


def heights(finest: ScaleResolution, key: str) -> list[tuple[Source, float]]:
    """What the eye is off by in a height between two lines of a trace: terms in divisions.

    Either line is read to the nearest step by itself, so that the height lies within a whole step
    but near its middle rather than at its ends.

    Args:
        finest: How finely the graticule is read.
        key: Key of the prompt; names what only this reading can be off by.

    Returns:
        Terms of the upper and of the lower line; only their signs tell them apart.

    Source:
        JCGM 100:2008, F.2.2.1 for a line and 5.1.2 for two; together the triangle of 4.3.9.
    """
    line = resolution(finest.share_of_division)
    return [
        (within_limits(f"{key} eye, upper line"), line),
        (within_limits(f"{key} eye, lower line"), -line),
    ]


def on_trace(understood: Understood, bench: Bench, key: str) -> Uncertain:
    """A time or a frequency that the eye took from a trace.

    The time base is taken to be the one that spreads it over most of five divisions; both its
    ends are off by what the eye tells. A frequency is read as the time of a period.

    Args:
        understood: The entry as read, in s or Hz.
        bench: The bench.
        key: Key of the prompt; names what only this reading can be off by.

    Returns:
        The value; the error of the time base is shared by all times read on it.

    Source:
        JCGM 100:2008 4.3.7 for limits of error; settings of the time base common practice,
        no source.
    """
    # An end is where an edge crosses a level, which the eye sets as well: where the edge is flat,
    # as at its 90 %, half a tenth of a division in height is up to two tenths in time. So either
    # end may be off by all that the eye tells, unlike the lines of a height: of edges of one pole
    # this holds 93 %, and half of it 80 % (as the study of coverage draws them).
    scope, value = oscilloscope(bench), understood.value
    finest = scope.resolution or EYE
    sign = -1.0 if understood.unit == "Hz" else 1.0
    period = 1.0 / value if understood.unit == "Hz" and value else value
    if understood.divisions is not None and understood.per_division:
        division = understood.per_division
    else:
        division = _time_base(abs(period))
    eye = rectangular(finest.share_of_division) * division
    # of 1 / t the relative uncertainty is that of t
    relative = eye / abs(period) if period else 0.0
    ends = relative * abs(value) if period else eye
    return from_terms(
        value,
        [
            (within_limits(f"{scope.id} time base"), sign * rectangular(_limit(scope)) * value),
            (within_limits(f"{key} eye, one end"), ends),
            (within_limits(f"{key} eye, other end"), ends),
        ],
    )


def from_capture(understood: Understood, standard: float, bench: Bench, key: str) -> Uncertain:
    """A reading that was taken over from a capture.

    Args:
        understood: The entry as read.
        standard: Standard uncertainty that the capture gave, in the unit of the value.
        bench: The bench, for the scales of its oscilloscope.
        key: Key of the prompt; names what only this reading can be off by.

    Returns:
        The value; what the oscilloscope's scales may be off is shared by all that is read on
        them, and does not touch shares and counts.

    Source:
        JCGM 100:2008 4.3.7 for limits of error.
    """
    scope, value = oscilloscope(bench), understood.value
    terms: list[tuple[str, float]] = [(Source(f"{key} capture"), standard)]
    limit = rectangular(_limit(scope)) * value
    if understood.unit in ("s", "Hz"):
        sign = -1.0 if understood.unit == "Hz" else 1.0
        terms.append((within_limits(f"{scope.id} time base"), sign * limit))
    elif understood.unit == "V":
        terms.append((within_limits(f"{scope.id} gain"), limit))
    return from_terms(value, terms)


def _limit(scope: Meter) -> float:
    """Limit of error of either scale, share of a reading [1]."""
    return scope.accuracy.of_reading + scope.accuracy.of_scale


def _time_base(seconds: float) -> float:
    """The finest setting in steps of 1, 2 and 5 that shows a time within five divisions [s]."""
    least = seconds / _STRETCH
    if not least > 0.0:
        return 0.0
    decade = 10.0 ** math.floor(math.log10(least))
    return decade * next((step for step in _STEPS if step * decade >= least * 0.999), 10.0)
