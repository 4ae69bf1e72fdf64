"""One thing that a capture shows."""

from __future__ import annotations

from dataclasses import dataclass

from stepwise.quantities import Uncertain


@dataclass(frozen=True, slots=True)
class Figure:
    """One thing that a capture shows."""

    name: str
    """As results are called: "overshoot", "rise_time"."""
    label: str
    """What people call it."""
    measure: Uncertain
    unit: str
    """SI unit, or %; empty for a plain number."""
    is_at_least: bool = False
    """Whether the trace lost a peak that would make it more."""
