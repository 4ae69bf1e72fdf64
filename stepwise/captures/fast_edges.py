"""What is left of the figures of a square wave whose edges are faster than its samples can tell."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from stepwise.captures.figure import Figure
from stepwise.quantities import format_value

if TYPE_CHECKING:
    from stepwise.science import SquareAnalysis

_AT_LEAST = ("overshoot", "preshoot")
"""Their crests may lie between samples."""
_WANTED = 10.0
"""Samples to take in the time that an edge takes at most."""


def without_fast_edges(figures: Iterable[Figure], found: SquareAnalysis) -> Iterator[Figure]:
    """Figures of a square wave, those that may lie between samples marked.

    Args:
        figures: As the samples show them.
        found: The analysis.
    """
    for figure in figures:
        if found.fast_edges is not None and figure.name in _AT_LEAST:
            yield replace(figure, is_at_least=True)
        else:
            yield figure


def edge_notes(found: SquareAnalysis) -> tuple[str, ...]:
    """What to say of edges that are faster than the samples can tell.

    Args:
        found: The analysis.
    """
    fast = found.fast_edges
    if fast is None:
        return ()
    edges, times = {
        (True, True): ("the edges lie", "rise and fall time"),
        (True, False): ("the rising edge lies", "rise time"),
        (False, True): ("the falling edge lies", "fall time"),
    }[fast.rising, fast.falling]
    most = format_value(fast.longest_s, "s", digits=3)
    wanted = format_value(_WANTED / fast.longest_s, "Hz", digits=3)
    intervals = "one sample" if fast.samples == 1 else f"{fast.samples} samples"
    return (
        f"{edges} within {intervals}: {times} at most {most}; capture it at {wanted} or faster",
    )
