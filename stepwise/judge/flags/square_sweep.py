"""Contradictions between square wave and sweep: two pictures of the same ends of the response."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.slewing import edge_slews, slews_in_sweep, sweep_slews
from stepwise.judge.flags.sure import SURE, difference, surely_above, surely_below
from stepwise.judge.flags.sweep_points import SweepRow, board_rows, row_for, square_hertz
from stepwise.quantities import Uncertain, format_value, propagate

_TILT_SHARE = 0.30
"""Two equal corners tilt as their sum but fall 3 dB at 1.55 of one: a first-order corner taken
from them is off by 2 / 1.55 = 1.29 (n equal sections)."""
_TILT_POINTS = 2.0
"""[%] What the eye takes for the flat top of a rounded one: common practice, no source."""
_FASTEST = 0.27
"""Rise time times -3 dB frequency of a ringing second-order system (0.271 at a damping ratio of
0.1); one pole has 0.35, nothing that can be used has less (second-order step response)."""
_ONE_POLE = 0.35
_SLOW = 1.5
"""Factor that the edges of oscillator and oscilloscope may add to a rise time: they would have
to be as slow as the amplifier. Common practice, no source."""
_FLOOR = -100.0
"""[dB] Nothing is read that far below its reference; a slip of typing is."""
_COUPLED_SCOPE = 10.0
"""[Hz] Where the AC coupling of an oscilloscope usually begins: common practice, no source."""


def find(findings: Findings) -> Iterator[Flag]:
    """Tilts against the low end, rise times against the high end."""
    rows = board_rows(findings)
    for tilt in findings.named("tilt"):
        row = row_for(rows, tilt.channel)
        if row is not None:
            yield from _tilt(tilt, row)
    for rise in findings.named("rise_time"):
        row = row_for(rows, rise.channel)
        if row is not None:
            yield from _rise(rise, row, findings)


def _tilt(tilt: Result, row: SweepRow) -> Iterator[Flag]:
    hertz = square_hertz(tilt)
    if hertz is None:
        return
    expected = _expected_tilt(row, hertz)
    if expected is None:
        return
    gap = difference(tilt.measure, expected)
    margin = _TILT_SHARE * expected.value + _TILT_POINTS
    if surely_above(gap, margin):
        yield _tilt_flag(tilt, expected, row, more=True)
    elif row.corner_low is not None and surely_below(gap, -margin):
        yield _tilt_flag(tilt, expected, row, more=False)


def _expected_tilt(row: SweepRow, hertz: float) -> Uncertain | None:
    """Tilt that the sweep stands for [%]; the most that it allows where it does not fall.

    A second-order end tilts as its corner over Q, which is the sum of two separate corners.
    """
    from stepwise.science import corner_from_reading_low, tilt_percent

    if row.corner_low is not None:
        q = row.q_low.value if row.q_low is not None and row.q_low.value > 0 else 1.0
        return propagate(
            lambda corner: tilt_percent(max(corner, 0.0) / q, hertz), row.corner_low.measure
        )
    if not row.points or row.points[0][0] > hertz / 3.0:
        return None
    lowest, level = row.points[0]
    least = level.value - SURE * level.measure.standard_uncertainty
    if least >= 0.0:
        return Uncertain(0.0)
    return Uncertain(tilt_percent(corner_from_reading_low(lowest, max(least, _FLOOR)), hertz))


def _tilt_flag(tilt: Result, expected: Uncertain, row: SweepRow, *, more: bool) -> Flag:
    if more:
        likely = (
            f"The oscilloscope is AC coupled: its own corner near {_COUPLED_SCOPE:g} Hz tilts too",
            "The tilt was taken over the whole height, peak to peak, or in other divisions",
            "The lowest points of the sweep were read on another range",
        )
        try_next = "Set the oscilloscope to DC coupling and take the tilt again; then the lowest "
    else:
        likely = (
            "The oscillator or the meter falls away itself at the lowest frequencies",
            "The lowest points of the sweep were read on another range",
            "The tilt was read over less than a whole half period",
        )
        try_next = "Take the tilt again over one whole half period; then the lowest "
    ends = [row.corner_low] if row.corner_low is not None else [p for _, p in row.points[:1]]
    compare = "more than" if more else "less than"
    return Flag(
        name="tilt-against-sweep",
        severity=Severity.WRONG,
        step=tilt.step,
        channel=tilt.channel,
        load=None,
        says=f"The square wave tilts by {evidence.shown(tilt)}, {compare} the "
        f"{format_value(expected.value, '%', digits=2)} that the low end of the sweep stands for"
        f"{evidence.channel_words(tilt)}.",
        evidence=(
            evidence.of(tilt),
            *map(evidence.of, ends),
            evidence.of_measure("Tilt that the sweep stands for", expected, "%"),
        ),
        likely=likely,
        next_try=f"{try_next}point of the sweep, naming the range.",
        keys=evidence.keys_of(tilt, *ends),
    )


def _rise(rise: Result, row: SweepRow, findings: Findings) -> Iterator[Flag]:
    end = row.minus_3db_high or row.corner_high
    if end is not None:
        if slews_in_sweep(rise, row, findings):
            yield sweep_slews(rise, end, row, findings)
            return
        spare = propagate(lambda t, f: t - _FASTEST / f, rise.measure, end.measure)
        if surely_below(spare, 0.0):
            yield _rise_flag(rise, end)
            return
        slow = propagate(lambda t, f: t - _SLOW * _ONE_POLE / f, rise.measure, end.measure)
        if surely_above(slow, 0.0):
            yield edge_slews(rise, end, findings)
    elif row.points and surely_above(rise.measure, _SLOW * _ONE_POLE / row.points[-1][0]):
        # It does not fall by 3 dB as far as it was read, so the bandwidth is at least that.
        yield edge_slews(rise, row.points[-1][1], findings)


def _rise_flag(rise: Result, end: Result) -> Flag:
    return Flag(
        name="rise-time-against-sweep",
        severity=Severity.WRONG,
        step=rise.step,
        channel=rise.channel,
        load=None,
        says=f"An edge of {evidence.shown(rise)} is faster than a response "
        f"that ends at {evidence.shown(end)} can make"
        f"{evidence.channel_words(rise)}: one of the two is not the board's.",
        evidence=(
            evidence.of(rise),
            evidence.of(end),
            evidence.of_value("Fastest edge for that response", _FASTEST / end.value, "s"),
        ),
        likely=(
            "The meter's bandwidth, or the oscillator's, ends before the board's",
            "The sweep was made so high that the stage slews in it",
            "The time base was read wrongly, or its magnifier is on",
            "The rise time was taken from less than 10 % to 90 % of the edge",
        ),
        next_try="Take the rise time again, with the time base said aloud; then look at the "
        "highest sweep point with the oscilloscope instead of the meter.",
        keys=evidence.keys_of(rise, end),
    )
