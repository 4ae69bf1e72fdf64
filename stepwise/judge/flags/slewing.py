"""Slewing told from a low bandwidth: edges too slow, and sweeps that a slope ends."""

from __future__ import annotations

import math

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import surely_below
from stepwise.judge.flags.sweep_points import SweepRow
from stepwise.quantities import propagate

_ONE_POLE = 0.35
"""Rise time times -3 dB frequency of one pole [1] (ln 9 / 2 pi, textbooks round to 0.35)."""
_NO_POLE = 0.34
"""The same product that no pole makes, nor two without a peak (0.344 for two equal, 0.342 maximally
flat): a sweep that slewing ends stays below it."""
_SLEWING = (1.3, 2.1)
"""Slope that a sine needs over the slew rate [1] where its level is 3 dB down: 1.74 to 1.81, and
a fifth more or less for points an octave apart."""
_KNEE = (0.38, 0.6)
"""Frequencies over that of -3 dB [1] where slewing has not begun (0.57) and a pole has."""


def slews_in_sweep(rise: Result, row: SweepRow, findings: Findings) -> bool:
    """Whether the sweep ends where the slope seen on the square wave would end it.

    A stage that slews makes a triangle of SR / (4 f); a meter shows it 3 dB down where
    2 pi f Up / SR is 1.74 (average) or 1.81 (RMS). One pole of that bandwidth would make the
    edge of the square wave in 0.35 / f, longer than it took.
    """
    slope = _slope(rise, findings)
    reference = findings.first("reference", step=row.step, channel=row.channel)
    end = row.minus_3db_high
    if slope is None or reference is None or end is None:
        return False
    low, high = _SLEWING
    needed = 2.0 * math.pi * end.value * math.sqrt(2.0) * reference.value
    product = propagate(lambda t, f: t * f, rise.measure, end.measure)
    fits = low <= needed / slope <= high and surely_below(product, _NO_POLE)
    return fits and _has_sharp_knee(row, end.value)


def _slope(rise: Result, findings: Findings) -> float | None:
    """Slope of the edge whose rise time was read [V/s], whatever it was taken for."""
    for name in ("slew_rate", "edge_slope"):
        found = findings.first(name, step=rise.step, channel=rise.channel, point=rise.point)
        if found is not None and found.value > 0.0:
            return found.value
    return None


def _has_sharp_knee(row: SweepRow, end: float) -> bool:
    """Whether the points short of the end stand above what one pole would leave of them.

    A stage that slews is flat until it cannot follow; one pole takes 0.6 dB at 0.38 of its
    corner and 1.3 dB at 0.6. Half of that is the line between the two.
    """
    low, high = _KNEE
    near = [(hertz, level.value) for hertz, level in row.points if low <= hertz / end <= high]
    return bool(near) and all(
        level > -5.0 * math.log10(1.0 + (hertz / end) ** 2) for hertz, level in near
    )


def sweep_slews(rise: Result, end: Result, row: SweepRow, findings: Findings) -> Flag:
    """A sweep that ends where the stage cannot follow, not where it rolls off."""
    reference = findings.first("reference", step=row.step, channel=row.channel)
    volts = evidence.beside(rise, findings, "edge_slope", "slew_rate")
    return _slewing(
        rise,
        end,
        says=f"The sweep ends at {evidence.shown(end)} because the stage "
        f"slews{evidence.channel_words(rise)}: the square wave shows the same slope there.",
        seen=(
            evidence.of(rise),
            *map(evidence.of, volts[:1]),
            evidence.of(end),
            *([evidence.of(reference)] if reference is not None else ()),
        ),
        or_else="The meter's bandwidth happens to end there",
        next_try="Read the highest points again at a tenth of the level: what slews comes back, "
        "what rolls off stays.",
    )


def edge_slews(rise: Result, end: Result, findings: Findings) -> Flag:
    """Slower than the small-signal bandwidth: the stage cannot follow, it does not roll off."""
    beside = findings.firsts("fall_time", "slew_rate", step=rise.step, channel=rise.channel)
    bandwidth = end.value if end.unit == "Hz" else None
    wanted = (
        (evidence.of_value("Rise time for that bandwidth", _ONE_POLE / bandwidth, "s"),)
        if bandwidth
        else ()
    )
    return _slewing(
        rise,
        end,
        says=f"The edge takes {evidence.shown(rise)}, longer than the sweep's "
        f"bandwidth explains{evidence.channel_words(rise)}: the stage slews.",
        seen=(evidence.of(rise), evidence.of(end), *wanted, *map(evidence.of, beside)),
        or_else="The oscillator's own edge is that slow",
        next_try="Halve the level and read the rise time again: if it halves too, it is slewing; "
        "if it stays, it is bandwidth. Then look at the oscillator's own edge.",
    )


def _slewing(
    rise: Result,
    end: Result,
    *,
    says: str,
    seen: tuple[Evidence, ...],
    or_else: str,
    next_try: str,
) -> Flag:
    """The one flag, however it was seen; `or_else` is the cause outside the board."""
    return Flag(
        name="slew-limited",
        severity=Severity.LOOK,
        step=rise.step,
        channel=rise.channel,
        load=None,
        says=says,
        evidence=seen,
        likely=(
            "The first stages have too little current for their compensation capacitor",
            "The compensation capacitor is larger than it should be",
            or_else,
        ),
        next_try=next_try,
        keys=evidence.keys_of(rise, end),
    )
