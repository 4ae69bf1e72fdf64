"""What follows from the things seen on a square wave: corners, slope, damping."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stepwise.quantities import Uncertain, from_terms, rectangular, require, within_limits
from stepwise.steps.prompt import Reading
from stepwise.steps.work import PassWork

DERIVED_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "corner_from_tilt": "Hz",
        "corner_from_rise_time": "Hz",
        "edge_slope": "V/s",
        "slew_rate": "V/s",
        "damping_ratio": "",
    }
)
"""Results that are worked out from what is seen, with their SI units."""

_LEVEL_SET = 0.05
"""Share by which a level that is set by eye on the screen may be off (common practice, no
source)."""
_SLEWS = 1.2
"""How much longer than the sweep's bandwidth explains an edge must be, to be slewing: ringing
and a second corner change the product of rise time and bandwidth by less."""
_VISIBLE, _VISIBLE_LIMIT = 2.0, 1.0
"""Ringing that the eye still counts, share of the height [%], and what that may be off (common
practice, no source)."""


@dataclass(frozen=True, slots=True)
class SeenLook:
    """What was read of one picture."""

    tone: str
    label: str
    """Of the picture, for people: "10 kHz, 100 nF across"."""
    level: str | None
    """Peak-to-peak volts that were to be set."""
    readings: Mapping[str, Reading]
    """Feature -> reading with a value."""

    def value(self, feature: str) -> tuple[Uncertain, str] | None:
        """Value and key of what was read; None where it was not."""
        reading = self.readings.get(feature)
        if reading is None or reading.measure is None:
            return None
        return reading.measure, reading.key

    def point(self, feature: str) -> str:
        """The point of a prompt of this picture."""
        return self.readings[feature].point


def work_out_look(look: SeenLook, work: PassWork) -> None:
    """Enter what follows from one picture."""
    _low_corner(look, work)
    _edge(look, work)
    _damping(look, work)


def _low_corner(look: SeenLook, work: PassWork) -> None:
    from stepwise.science import corner_from_tilt

    tilt = look.value("tilt")
    if tilt is None or not tilt[0].value > 0.0:
        return  # a flat top has no corner to speak of
    hertz = require(look.tone, "Hz")
    label = f"Low corner by the tilt, {look.label}"
    work.compute(
        "corner_from_tilt", label, "Hz", lambda share: corner_from_tilt(share, hertz), tilt,
        point=look.point("tilt"),
    )  # fmt: skip


def _edge(look: SeenLook, work: PassWork) -> None:
    from stepwise.science import corner_from_rise_time, slope_from_rise_time

    rise = look.value("rise_time")
    if rise is None:
        return
    at = look.point("rise_time")
    work.compute(
        "corner_from_rise_time", f"Bandwidth by the rise time, {look.label}", "Hz",
        corner_from_rise_time, rise, point=at,
    )  # fmt: skip
    if look.level is None:
        return
    volts = require(look.level, "V")
    half_width = rectangular(_LEVEL_SET * volts)
    level = from_terms(volts, [(within_limits(f"{at} level set"), half_width)])
    # the slope of an edge that is no slower than the bandwidth makes it is only a lower bound
    name, label = "edge_slope", f"Slope of the edge, {look.label}"
    if _is_slewing(rise[0], work):
        name, label = "slew_rate", f"Slew rate, {look.label}"
    work.compute(name, label, "V/s", slope_from_rise_time, (level, ""), rise, point=at)


def _is_slewing(rise: Uncertain, work: PassWork) -> bool:
    """Whether an edge is surely longer than the sweep's high end explains."""
    from stepwise.science import rise_time_from_corner

    # a fitted corner of a second-order end with a low or high Q is not where it is 3 dB down
    end = work.known.of_board("minus_3db_high", work.at)
    if end is None or not end.value > 0.0:
        return False
    lowest = end.value - end.measure.expanded_uncertainty
    if not lowest > 0.0:
        return False
    explained = _SLEWS * rise_time_from_corner(lowest)
    return rise.value - rise.expanded_uncertainty > explained


def _damping(look: SeenLook, work: PassWork) -> None:
    """From the overshoot; from the cycles where no overshoot was seen or asked for."""
    from stepwise.science import damping_ratio_from_cycles, damping_ratio_from_overshoot

    label = f"Damping ratio, {look.label}"
    overshoot, cycles = look.value("overshoot"), look.value("ringing_cycles")
    if overshoot is not None and overshoot[0].value > 0.0:
        work.compute(
            "damping_ratio", label, "", damping_ratio_from_overshoot, overshoot,
            point=look.point("overshoot"),
        )  # fmt: skip
    elif cycles is not None and cycles[0].value >= 1.0:
        limit = rectangular(_VISIBLE_LIMIT)
        visible = from_terms(_VISIBLE, [(within_limits("what the eye still counts"), limit)])
        work.compute(
            "damping_ratio", label, "", damping_ratio_from_cycles, cycles, (visible, ""),
            point=look.point("ringing_cycles"),
        )  # fmt: skip
