"""Readings without an instrument of their own kind: counts, times by hand, and all the rest."""

from __future__ import annotations

import math

from stepwise.bench.bench import Meter
from stepwise.quantities import (
    Uncertain,
    Understood,
    exact,
    from_terms,
    last_digit,
    rectangular,
    resolution,
    within_limits,
)

REACTION = 0.2
"""[s] A person who times by hand is off by no more than this, starting and stopping together;
common practice, no source."""


def without_instrument(understood: Understood, key: str) -> Uncertain:
    """A count, a time that was taken by hand, or a figure that only its last digit is known of.

    Five cycles are five and no other; 3.7 of something without a unit is a figure like others.

    Args:
        understood: The entry as read, in its SI unit.
        key: Key of the prompt.

    Source:
        JCGM 100:2008 4.3.7 for limits of error, F.2.2.1 for resolution.
    """
    digit = resolution(understood.step)
    if not understood.unit and understood.value.is_integer() and understood.step >= 1.0:
        return exact(understood.value)
    if understood.unit != "s":
        return from_terms(understood.value, [(last_digit(f"{key} digits"), digit)])
    return from_terms(
        understood.value,
        [
            (within_limits(f"{key} reaction"), rectangular(REACTION)),
            (within_limits(f"{key} digits"), digit),
        ],
    )


def across_a_resistor(
    understood: Understood, meter: Meter, tolerance: float, key: str
) -> Uncertain:
    """A current that was read as volts across a resistor, and divided by its ohms.

    Of the volts no more is known than that they were shown to as many digits as the current.
    What the resistor is off by is a share that all currents through it have: one resistor for
    each channel.

    Args:
        understood: The entry as read [A].
        meter: A meter for volts.
        tolerance: Limit of error of the resistor, share of it [1]; 0 where nobody states one.
        key: Key of the prompt.

    Source:
        JCGM 100:2008 4.3.7 for limits of error, F.2.2.1 for resolution.
    """
    value, accuracy = understood.value, meter.accuracy
    limit = (accuracy.of_reading + accuracy.of_scale) * abs(value)
    limit += accuracy.digits * understood.step
    decade = math.floor(math.log10(abs(value))) if value else 0
    channel = key.split("/")[1] if "/" in key else ""
    return from_terms(
        value,
        [
            (
                within_limits(f"{meter.id} across a resistor, decade {decade}"),
                math.copysign(rectangular(limit), value),
            ),
            (within_limits(f"idle resistor {channel}".rstrip()), rectangular(tolerance) * value),
            (within_limits(f"{key} digits"), resolution(understood.step)),
        ],
    )
