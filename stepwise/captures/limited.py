"""What is left of the figures of a trace that runs off the screen, and what to say of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from stepwise.captures.figure import Figure

if TYPE_CHECKING:
    from stepwise.science import OffScreen

_SQUARE_AT_LEAST = ("overshoot", "preshoot", "height")
_SQUARE_LOST = ("damping_ratio", "ringing_cycles", "settling_time")
_SINE_LOST = ("crest_factor", "asymmetry", "offset", "thd", "thd_n", "overdrive")
"""What a peak that is cut off by the screen makes wrong in a direction that is not known."""


def limited_square(figures: Iterable[Figure], off: OffScreen) -> Iterator[Figure]:
    """Figures of a square wave, those that lost a peak marked or left out.

    Args:
        figures: As the samples show them.
        off: Where they run off the screen.
    """
    for figure in figures:
        if not off:
            yield figure
        elif figure.name not in _SQUARE_LOST:
            yield replace(figure, is_at_least=figure.name in _SQUARE_AT_LEAST)


def limited_sine(figures: Iterable[Figure], off: OffScreen) -> Iterator[Figure]:
    """Figures of a sine, the same; as they are where the amplifier may have cut it off.

    Args:
        figures: As the samples show them.
        off: Where they run off the screen.
    """
    at_least = {"level": True, "peak": off.high, "negative_peak": off.low}
    lost = {"clip_onset": off.high, "negative_clip_onset": off.low}
    for figure in figures:
        if not (off and off.is_sure):
            yield figure
        elif figure.name not in _SINE_LOST and not lost.get(figure.name, False):
            yield replace(figure, is_at_least=at_least.get(figure.name, False))


def limit_notes(off: OffScreen) -> tuple[str, ...]:
    """What to say of a trace that is flat at its farthest level.

    Args:
        off: Where it is.
    """
    if not off:
        return ()
    where = {(True, False): "highest level", (False, True): "lowest level"}
    level = where.get((off.high, off.low), "highest and lowest level")
    again = "turn the volts per division up and take it again"
    if off.is_sure:
        return (f"the trace is flat at its {level}: off the screen? {again}",)
    return (
        f"the trace is flat at its {level}: does the amplifier clip, or is it off the screen? "
        f"if so, {again}",
    )
