"""What a captured square wave shows, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

from stepwise.science.converter_limit import NOWHERE, OffScreen
from stepwise.science.ringing import Ringing


@dataclass(frozen=True, slots=True)
class FastEdges:
    """Edges of which too few samples were taken to tell how long they last."""

    rising: bool
    """Whether the rising ones are such."""
    falling: bool
    """Whether the falling ones are."""
    samples: int
    """Intervals of the samples within which such an edge lies, 10 % to 90 %, the longer of both
    directions [1]."""
    longest_s: float
    """The same in time: an edge lasts at most as long [s]."""


@dataclass(frozen=True, slots=True)
class SquareStandard:
    """Standard uncertainties of an analysis.

    From the scatter of samples, their interval and the steps of the converter; what the
    oscilloscope's scales may be off comes on top.
    """

    square_hertz: float | None
    """[Hz]"""
    level_volts: float
    """Of either state [V]."""
    rise_time_s: float | None
    """[s]"""
    fall_time_s: float | None
    """[s]"""
    overshoot_percent: float
    """[%]"""
    preshoot_percent: float
    """[%]"""
    tilt_percent: float | None
    """[%]"""
    corner_hertz: float | None
    """[Hz]"""
    slew_volts_per_s: float | None
    """[V/s]"""
    settling_s: float | None
    """[s]"""


@dataclass(frozen=True, slots=True)
class SquareAnalysis:
    """What a captured square wave shows."""

    square_hertz: float | None
    """Frequency [Hz]; None with a single edge."""
    low_volts: float
    """Low state [V]."""
    high_volts: float
    """High state [V]."""
    rise_time_s: float | None
    """From 10 % to 90 %, of the rising edges [s]; None without one, or where they are fast."""
    fall_time_s: float | None
    """From 90 % to 10 %, of the falling edges [s]; None without one, or where they are fast."""
    overshoot_percent: float
    """Largest passing of the new state after an edge, mean of both directions [%]."""
    preshoot_percent: float
    """Largest passing of the old state before an edge, mean of both directions [%]."""
    tilt_percent: float | None
    """Sag of a top from its edge to the next, exact exponential [%]; None when no whole half
    period is in the record."""
    corner_hertz: float | None
    """First-order corner that the tilt stands for [Hz]."""
    is_tilt_seen: bool
    """Whether there is a tilt to speak of, or noise that one could hide in: on tops that are as
    flat as the steps of converter and file tell, there is none."""
    settling_s: float | None
    """From the middle of an edge until the wave stays within 2 % of its new state [s]; None
    where noise hides it or the record ends before."""
    ringing: Ringing | None
    """The oscillation after the edges; None when there is none to speak of."""
    fast_edges: FastEdges | None
    """Edges that the samples cannot tell; None where they tell all."""
    slew_volts_per_s: float | None
    """Steepest slope of an edge between 10 % and 90 % [V/s]; None where edges are fast."""
    edges: int
    """Complete transitions that were read [1]."""
    noise_volts: float
    """Scatter of the samples on settled tops [V RMS]."""
    step_volts: float
    """Step of the converter [V]; 0 where none shows."""
    standard: SquareStandard
    """How sure these figures are."""
    off_screen: OffScreen = NOWHERE
    """Where the trace runs into the limit of the converter."""
