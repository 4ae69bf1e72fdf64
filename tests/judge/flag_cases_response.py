"""The response and the channels."""

from __future__ import annotations

from dataclasses import replace

from stepwise.judge import Result
from tests.judge.flag_case import Case, computed, findings, result

SWEEP = "sweep/left/"
PRACTICE = "common practice, no source: a bench example worked by hand"


def end(name: str, hertz: float, u: float = 0.2, channel: str = "left") -> Result:
    return computed(name, hertz, "Hz", "10 Hz", "20 Hz", u=u, at=f"sweep/{channel}/")


def slope(side: str, value: float) -> Result:
    return computed(f"slope_{side}", value, "dB", "10 Hz", "20 Hz", u=0.3, at=SWEEP)


def levels(*points: tuple[float, float]) -> list[Result]:
    return [
        result("level_db", db, "dB", u=0.1, at=SWEEP, point=f"{hertz:g} Hz") for hertz, db in points
    ]


ENDS = levels((10.0, -3.0), (1e3, 0.0), (100e3, -3.0))


def low_on_scale(deflection: float, better: float | None) -> Result:
    read = result("level_open", 0.4, at="output//")
    return replace(read, deflection=deflection, better_range=better)


CASES: dict[str, Case] = {
    "early-roll-off-low": Case(
        "-1.5 dB at 20 Hz is a first-order corner of 12.8 Hz, -4.5 dB one of 26.9 Hz; the band of "
        "16 CFR 432 begins at 20 Hz.",
        findings(end("minus_3db_low", 26.9)),
        findings(end("minus_3db_low", 12.8)),
        "10 Hz",
    ),
    "early-roll-off-high": Case(
        "-1 dB at 20 kHz is a corner of 39.3 kHz, -3 dB at 12 kHz is short of the 20 kHz of "
        "16 CFR 432.",
        findings(end("minus_3db_high", 12e3, 100.0)),
        findings(end("minus_3db_high", 39.3e3, 100.0)),
    ),
    "roll-off-steep-low": Case(
        "One corner falls by 6.02 dB an octave, two by 12.04.",
        findings(slope("low", -11.5), *ENDS),
        findings(slope("low", -6.0), *ENDS),
        "10 Hz",
    ),
    "roll-off-steep-high": Case(
        "As at the low end: 12.04 dB an octave of two poles.",
        findings(slope("high", -11.5), *ENDS),
        findings(slope("high", -5.5), *ENDS),
        "100000 Hz",
    ),
    "response-hump": Case(
        "A damping ratio of 0.3 peaks by 4.84656 dB, one of 0.7 by 0.0017 dB (second order).",
        findings(computed("peak_db", 4.84656, "dB", "50 kHz", u=0.2, at=SWEEP), *ENDS),
        findings(computed("peak_db", 0.3, "dB", "50 kHz", u=0.2, at=SWEEP), *ENDS),
        "50 kHz",
    ),
    "response-notch": Case(
        f"{PRACTICE}. A trap between 100 Hz and 400 Hz.",
        findings(*levels((50.0, 0.0), (100.0, -3.0), (200.0, -5.0), (400.0, 0.0), (1e3, 0.0))),
        findings(*levels((50.0, -3.0), (100.0, -1.0), (200.0, -0.5), (400.0, 0.0), (1e3, 0.0))),
        "200 Hz",
    ),
    "channel-mismatch": Case(
        "20.0 V against 19.4 V is 0.264565 dB; against 16 V it is 1.94 dB.",
        findings(computed("channel_balance", -1.938, "dB", "level", u=0.1, at="clip/right/8 ohm")),
        findings(
            computed("channel_balance", -0.264565, "dB", "level", u=0.1, at="clip/right/8 ohm")
        ),
    ),
    "channel-response-differs": Case(
        "22 kohm with 1 uF has its corner at 7.2 Hz, with 0.33 uF at 21.9 Hz (1 / 2 pi R C).",
        findings(end("corner_low", 7.23), end("corner_low", 21.9, channel="right")),
        findings(end("corner_low", 7.23), end("corner_low", 8.5, channel="right")),
    ),
    "meter-beyond-range": Case(
        f"{PRACTICE}. 28.3 V on a meter whose highest range is 10 V.",
        findings(low_on_scale(2.83, None)),
        findings(low_on_scale(0.943, None)),
    ),
    "meter-low-on-scale": Case(
        "A class of 2 % of full scale is 6.7 % of a reading at 0.3 of it (published table).",
        findings(low_on_scale(0.13, 1.0)),
        findings(low_on_scale(0.13, None)),
    ),
}
