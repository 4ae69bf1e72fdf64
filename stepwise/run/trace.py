"""The trace that the sweep so far predicts for a square wave, to hold against the oscilloscope."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from stepwise.judge import Result
from stepwise.quantities import format_value, require
from stepwise.steps import Prompt

if TYPE_CHECKING:
    from stepwise.science import EndOfResponse

_CORNERS = ("corner_low", "corner_high")
_LEAST_TILT = 0.5
"""[%] below which a top looks flat."""


@dataclass(frozen=True, slots=True)
class Trace:
    """One period of a predicted square wave."""

    times: tuple[float, ...]
    """[periods], from 0 to 1; the rising edge stands at a quarter."""
    volts: tuple[float, ...]
    """1 and -1 where the tops would be flat."""
    says: str
    """One sentence: what ought to be seen."""


def predicted_trace(prompt: Prompt, results: Sequence[Result]) -> Trace | None:
    """What a square wave should look like by the sweep of the same channel.

    Args:
        prompt: Of the square wave.
        results: All results so far.

    Returns:
        The trace; None where the prompt is of no square wave, a capacitor lies across the load,
        which no sweep knows of, or no sweep of the channel has an end yet.
    """
    if prompt.kind != "square":
        return None
    tone, capacitor, _ = prompt.point.split("/", 2)
    values = _ends_of_sweep(prompt.of.channel, results) if capacitor == "none" else {}
    return _trace(tone, _end(values, "low"), _end(values, "high")) if values else None


@lru_cache(maxsize=16)
def _trace(tone: str, low: EndOfResponse, high: EndOfResponse) -> Trace:
    """Worked out once for each wave of a picture: all readings of it stand beside the same."""
    from stepwise.science import predicted_square

    hertz = require(tone, "Hz")
    times, volts = predicted_square(hertz, low, high)
    return Trace(tuple(times.tolist()), tuple(volts.tolist()), _says(tone, hertz, low, high))


def _ends_of_sweep(channel: str | None, results: Sequence[Result]) -> Mapping[str, float]:
    """The ends found by the latest sweep of a channel, by result name."""
    latest = next(
        (
            each
            for each in reversed(results)
            if each.name in _CORNERS and each.channel in (channel, None)
        ),
        None,
    )
    if latest is None:
        return {}
    return {
        each.name: each.value
        for each in results
        if (each.step, each.channel, each.load) == (latest.step, latest.channel, latest.load)
    }


def _end(values: Mapping[str, float], side: str) -> EndOfResponse:
    from stepwise.science import EndOfResponse

    corner = values.get(f"corner_{side}")
    if corner is None or not corner > 0.0:
        return EndOfResponse(0)
    return EndOfResponse(round(values.get(f"order_{side}", 1.0)), corner, q=values.get(f"q_{side}"))


def _says(tone: str, hertz: float, low: EndOfResponse, high: EndOfResponse) -> str:
    from stepwise.science import (
        overshoot_from_damping_ratio,
        predicted_rise_s,
        predicted_tilt_percent,
    )

    parts = []
    if low.corner_hertz is not None:
        tilt = predicted_tilt_percent(hertz, low)
        is_flat = abs(tilt) < _LEAST_TILT
        parts.append("flat tops" if is_flat else f"a tilt of {format_value(tilt, '%', digits=2)}")
    rise = predicted_rise_s(high)
    if rise is not None:
        parts.append(f"a rise time of {format_value(rise, 's', digits=2)}")
    overshoot = overshoot_from_damping_ratio(0.5 / high.q) if high.q is not None else 0.0
    if overshoot > 1.0:
        parts.append(f"an overshoot of {format_value(overshoot, '%', digits=2)}")
    return f"By the sweep so far, {tone} should show {' and '.join(parts)}"
