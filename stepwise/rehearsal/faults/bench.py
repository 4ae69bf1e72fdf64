"""Faults of the bench: what is blamed on the board, and is not the board's."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from stepwise.rehearsal.faults.fault import CLEAR, Fault, Whose
from stepwise.rehearsal.rig import Rig
from stepwise.rehearsal.setup import Setup


def _with_setup(rig: Rig, setup: Setup) -> Rig:
    return replace(rig, setup=setup)


def _swapped_load(rig: Rig, severity: float) -> Rig:
    """Down to half the ohms where 8 are meant: a second load left in parallel, 4 for 8."""
    shares = MappingProxyType({**rig.setup.load_shares, "8 ohm": 2.0**-severity})
    return _with_setup(rig, replace(rig.setup, load_shares=shares))


def _oscillator_droop(rig: Rig, severity: float) -> Rig:
    """Up to 28 Hz for the oscillator's own low corner; its square wave comes another way."""
    return _with_setup(rig, replace(rig.setup, oscillator_low_hertz=28.0 * severity))


def _meter_bandwidth(rig: Rig, severity: float) -> Rig:
    """Down to 15 kHz for the meter's own high corner."""
    hertz = 1e6 ** (1.0 - severity) * 15e3**severity
    return _with_setup(rig, replace(rig.setup, meter_high_hertz=hertz))


def _zero_not_set(rig: Rig, severity: float) -> Rig:
    """A pointer that rests up to an eighth of the scale above its zero."""
    return _with_setup(rig, replace(rig.setup, pointer_zero=severity / 8.0))


def _null_left_in(rig: Rig, severity: float) -> Rig:
    """Up to 40 mV added to every voltage by a null that was set on something else."""
    return _with_setup(rig, replace(rig.setup, display_null=0.04 * severity))


def _drifting_reference(rig: Rig, severity: float) -> Rig:
    """Up to 0.6 dB a minute: an oscillator that was switched on a moment ago."""
    return _with_setup(rig, replace(rig.setup, drift_db_per_minute=0.6 * severity))


BENCH_FAULTS = (
    Fault(
        "swapped-load",
        Whose.BENCH,
        "4 ohm connected where 8 is meant: watts that the rails do not allow",
        ("same-load-twice",),
        _swapped_load,
    ),
    Fault(
        "oscillator-droop",
        Whose.BENCH,
        "oscillator falls away at its low end: the board is blamed for it",
        ("tilt-against-sweep", "bench-not-flat"),
        _oscillator_droop,
        stated=CLEAR,
    ),
    Fault(
        "meter-bandwidth",
        Whose.BENCH,
        "meter falls away at high frequencies: the board is blamed for it",
        ("rise-time-against-sweep", "bench-not-flat"),
        _meter_bandwidth,
    ),
    Fault(
        "zero-not-set",
        Whose.BENCH,
        "pointer does not rest at zero: every level reads high, low ones most",
        ("meter-zero-off",),
        _zero_not_set,
        procedure="bench-check",
    ),
    Fault(
        "null-left-in",
        Whose.BENCH,
        "multimeter with a null left in: the same millivolts in every direct voltage",
        ("meter-zero-off",),
        _null_left_in,
        procedure="bench-check",
        stated=CLEAR,
    ),
    Fault(
        "drifting-reference",
        Whose.BENCH,
        "oscillator drifts during the sweep: the reference does not come back",
        ("reference-drift",),
        _drifting_reference,
        stated=CLEAR,
    ),
)
"""In the order in which they are listed."""
