"""How people write down what an instrument shows: the texts of pointer, display and finger."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stepwise.bench import Meter
from stepwise.quantities import TOUCH, Expected, convert, si_unit
from stepwise.rehearsal.figures import pointer_number, significant_number

FINEST = 1e-5
"""Last digit of a multimeter's lowest range [V or A]."""

_USUAL_COUNTS = 2000
"""Of a multimeter that does not say how many it has."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One look at one instrument."""

    typed: str
    """What a person writes down."""
    instrument: str
    display: str
    """What can be seen on it."""


def plain(value: float, expected: Expected) -> Shown:
    """A number that no meter of the bench shows, to three figures."""
    typed = significant_number(convert(value, si_unit(expected.unit), expected.unit), 3)
    return Shown(typed, expected.meter or "as read", f"{typed} {expected.unit}".rstrip())


def pointer_step(meter: Meter, full_scale: float) -> float:
    """The least that the eye tells apart on a range, in its unit."""
    finest = meter.resolution
    if finest is None or finest.divisions is None:
        return full_scale / 100.0
    return full_scale * finest.share_of_division / finest.divisions


def written_pointer(
    seen: float,
    step: float,
    full_scale: float,
    multiplier: float,
    meter: Meter,
    expected: Expected,
) -> Shown:
    """What is written down of a pointer on a range.

    Args:
        seen: Where it stands, in the SI unit of the meter.
        step: The least that the eye tells apart there.
        full_scale: Of the range in use.
        multiplier: Of the probe or divider before it [1].
        meter: The instrument.
        expected: What the prompt expects.
    """
    prefix, factor = ("", 1.0) if full_scale >= 1.0 else ("m", 1e-3)
    number, scale = pointer_number(seen / factor, step / factor), f"{full_scale / factor:g}"
    unit = f"{prefix}{meter.unit}"
    times = f" x{multiplier:g}" if multiplier != 1.0 else ""
    display = f"pointer at {number} of {scale} {unit}" + (times and f", probe{times}")
    if 0.0 < abs(seen) < 0.01 * full_scale:
        # So low on the scale "on" would be taken for another scale of the same range.
        return Shown(f"{number} {unit}{times}", meter.title, display)
    named = scale if unit == expected.unit else f"{scale} {unit}"
    return Shown(f"{number} on {named}{times}", meter.title, display)


def last_digit(value: float, meter: Meter) -> float:
    """One count of a display that shows a value, in the SI unit of the meter."""
    if meter.unit == "C":
        return 0.1
    if not value:
        return FINEST
    if meter.counts is None:
        return float(10.0 ** math.ceil(math.log10(abs(value) / _USUAL_COUNTS)))
    return meter.digit(abs(value)) or FINEST


def touch_word(celsius: float) -> str:
    """What a finger says of a temperature."""
    words = {word: limits for word, limits in TOUCH.items() if word not in ("cool", "too hot")}
    inside = [word for word, (low, high) in words.items() if low <= celsius < high]
    if inside:
        return inside[0]
    return "cool" if celsius < 35.0 else "too hot to hold"
