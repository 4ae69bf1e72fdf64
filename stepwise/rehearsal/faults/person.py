"""Faults of the person: what was read well, and written down as something else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from stepwise.rehearsal import mistakes
from stepwise.rehearsal.faults.fault import CLEAR, Fault, Whose
from stepwise.rehearsal.mistakes import Mistake
from stepwise.rehearsal.rig import Rig


def _makes(mistake: Callable[[float], Mistake]) -> Callable[[Rig, float], Rig]:
    return lambda rig, severity: replace(rig, mistakes=(*rig.mistakes, mistake(severity)))


PERSON_FAULTS = (
    Fault(
        "wrong-range",
        Whose.PERSON,
        "one level written down on the wrong range, or without its multiplier",
        ("range", "multiplier"),
        _makes(mistakes.wrong_range),
        stated=CLEAR,
    ),
    Fault(
        "peak-to-peak-for-rms",
        Whose.PERSON,
        "one level typed from peak to peak where RMS is asked",
        ("peak-to-peak", "peak"),
        _makes(mistakes.peak_to_peak),
        stated=CLEAR,
    ),
    Fault(
        "misread-pointer",
        Whose.PERSON,
        "one level of the sweep misread: a notch that is not there",
        ("point-out-of-line", "out-of-step"),
        _makes(mistakes.misread_pointer),
        stated=CLEAR,
    ),
    Fault(
        "reversed-sign",
        Whose.PERSON,
        "one level of the sweep typed without its minus sign",
        # 3.5 where about -3.5 dB is expected may also be volts: either way it is asked about.
        ("sign", "volts-for-decibels"),
        _makes(mistakes.reversed_sign),
    ),
    Fault(
        "missing-minus",
        Whose.PERSON,
        "negative rail typed without its minus sign",
        ("sign",),
        _makes(mistakes.missing_minus),
        stated=CLEAR,
    ),
    Fault(
        "millivolts-for-volts",
        Whose.PERSON,
        "a rail typed in millivolts where volts are asked",
        ("kilo",),
        _makes(mistakes.thousandfold),
        stated=CLEAR,
    ),
    Fault(
        "decibels-for-volts",
        Whose.PERSON,
        "reference once more typed off the meter's decibel scale",
        ("decibels-for-volts",),
        _makes(mistakes.decibels_for_volts),
        stated=CLEAR,
    ),
)
"""In the order in which they are listed."""
