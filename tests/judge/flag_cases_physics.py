"""Readings that physics forbids, and readings that contradict one another."""

from __future__ import annotations

import math

from stepwise.judge import Result
from tests.judge.flag_case import Case, computed, findings, result

CLIP = "clip/left/8 ohm"
CLIP4 = "clip/left/4 ohm"
PRACTICE = "common practice, no source: a bench example worked by hand"


def rails(height: float, at: str = CLIP) -> tuple[Result, Result]:
    return (
        result("rail_plus", height, u=0.1, at=at),
        result("rail_minus", -height, u=0.1, at=at),
    )


def level(volts: float, at: str = CLIP, u: float = 0.5) -> Result:
    return result("level", volts, u=u, at=at)


def sag_of(percent: float, at: str = CLIP) -> Result:
    return computed("sag", percent, "%", "rail_plus", u=0.1, at=at, point="rail_plus")


def tilt(percent: float) -> Result:
    at, point = "square/left/", "100 Hz/none/tilt"
    return result("tilt", percent, "%", u=1.2, at=at, point=point)


def rise(microseconds: float) -> Result:
    at, point = "square/left/", "10 kHz/none/rise_time"
    return result("rise_time", microseconds * 1e-6, "s", u=0.1e-6, at=at, point=point)


def sweep_of(*points: tuple[float, float], u: float = 0.15, channel: str = "left") -> list[Result]:
    return [
        result("level_db", db, "dB", u=u, at=f"sweep/{channel}/", point=f"{hertz:g} Hz")
        for hertz, db in points
    ]


FLAT = sweep_of((10.0, 0.0), (20.0, 0.0), (20e3, 0.0), (100e3, 0.0))


def corner(name: str, hertz: float, u: float) -> Result:
    return computed(name, hertz, "Hz", "10 Hz", "20 Hz", u=u, at="sweep/left/")


CASES: dict[str, Case] = {
    "swing-above-rails": Case(
        "20 V RMS is 28.2843 V peak; sine conversions, any text. On a rail of 25 V it cannot "
        "be, on one of 35 V it can.",
        findings(level(20.0), *rails(25.0)),
        findings(level(20.0), *rails(35.0)),
        "level",
    ),
    "power-above-transformer": Case(
        "Class B at most 78.5 % (Boylestad and Nashelsky ch. 12); a winding of 4 % regulation "
        "that sags by 4 % gives its rating: 30 VA then at most 22.6 W at the load.",
        findings(
            computed("power", 60.0, "W", "level", u=2.0),
            computed("sag", 4.0, "%", "secondary_volts", point="secondary_volts"),
            facts={"transformer_rating": 30.0},
        ),
        findings(
            computed("power", 20.0, "W", "level", u=2.0),
            computed("sag", 4.0, "%", "secondary_volts", point="secondary_volts"),
            facts={"transformer_rating": 30.0},
        ),
    ),
    "rails-above-secondary": Case(
        "25-0-25 V AC with 1.0 V diodes charges to 34.3553 V a rail (bridge rectifier, textbook "
        "from memory); 43 V cannot come from it.",
        findings(
            result("secondary_volts", 25.0, u=0.4, at="secondary//"),
            result("rail_plus", 43.0, u=0.1),
        ),
        findings(
            result("secondary_volts", 25.0, u=0.4, at="secondary//"),
            result("rail_plus", 34.36, u=0.1),
        ),
        "secondary_volts",
    ),
    "rails-below-secondary": Case(
        "The same winding read across both halves: 50 V, for rails of 34.36 V.",
        findings(
            result("secondary_volts", 50.0, u=0.4, at="secondary//"),
            result("rail_plus", 34.36, u=0.1),
        ),
        findings(
            result("secondary_volts", 25.0, u=0.4, at="secondary//"),
            result("rail_plus", 34.36, u=0.1),
        ),
    ),
    "sag-wrong-sign": Case(
        "45 V falling to 40 V is a sag of 11.1111 %; the two typed in each other's place are one "
        "of -12.5 % (regulation down, both conventions in use).",
        findings(computed("sag", -12.5, "%", "quiescent/left//rail_plus", "rail_plus", u=0.4)),
        findings(computed("sag", 11.1111, "%", "quiescent/left//rail_plus", "rail_plus", u=0.4)),
        "clip/left/8 ohm/rail_plus",
    ),
    "more-volts-into-less": Case(
        "Rails 38 V, 0.6 ohm, drop 3 V: 34.1839 V peak into 8 ohm, 33.4050 V into 4 ohm (sag "
        "model). With the loads changed over the 4 ohm pass has the more.",
        findings(level(23.62, CLIP, 0.1), level(24.17 * 1.05, CLIP4, 0.1)),
        findings(level(24.17, CLIP, 0.1), level(23.62, CLIP4, 0.1)),
        "clip/left/4 ohm/level",
    ),
    "same-load-twice": Case(
        "Up = (Ur - Ud) / (1 + Rs / pi R), I = Up / pi R (sag model) with rails of 38 V, "
        "6 ohm and a drop of 3 V: 19.98 V and 17.8 % into 8 ohm, 16.75 V and 29.8 % into 4 ohm. "
        "With 4 ohm in both passes both sags are the same.",
        findings(level(16.75), sag_of(29.8), level(16.75, CLIP4), sag_of(29.8, CLIP4)),
        findings(level(19.98), sag_of(17.8), level(16.75, CLIP4), sag_of(29.8, CLIP4)),
    ),
    "level-above-gain": Case(
        "1.000 V open and 0.900 V into 30 ohm is a source of 3.33 ohm; the other way round there "
        "is none (voltage divider, any text).",
        findings(
            result("level_open", 0.9, u=0.01, at="output//"),
            result("level_8", 1.0, u=0.01, at="output//"),
        ),
        findings(
            result("level_open", 1.0, u=0.01, at="output//"),
            result("level_8", 0.9, u=0.01, at="output//"),
        ),
        "level_8",
    ),
    "gain-unlikely": Case(
        "20 V out for 0.775 V in is 28.2346 dB; with the input typed as 7.75 mV it is 68.2 dB.",
        findings(computed("gain", 68.2346, "dB", "level_open", u=0.3, at="output/left/")),
        findings(computed("gain", 28.2346, "dB", "level_open", u=0.3, at="output/left/")),
    ),
    "tilt-against-sweep": Case(
        "A corner of 5 Hz tilts a 50 Hz square by 26.9597 %, a 100 Hz one by 14.5 % "
        "(1 - exp(-pi fc / f), exact); 40 % is what an AC coupled oscilloscope adds.",
        findings(tilt(40.0), *FLAT, corner("corner_low", 5.0, 0.3)),
        findings(tilt(14.5), *FLAT, corner("corner_low", 5.0, 0.3)),
        "100 Hz/none/tilt",
    ),
    "rise-time-against-sweep": Case(
        "A corner of 20 kHz rises in 17.4850 us (ln 9 / 2 pi); an edge of 3.5 us belongs to "
        "100 kHz.",
        findings(rise(3.5), *FLAT, computed("minus_3db_high", 20e3, "Hz", "20 kHz", at="sweep/left/")),
        findings(rise(17.485), *FLAT, computed("minus_3db_high", 20e3, "Hz", "20 kHz", at="sweep/left/")),
        "rise_time",
    ),
    "source-impedance-disagrees": Case(
        "10.000 to 9.960 V into 8 ohm is 0.0321 ohm, 2.83 to 2.75 V into 4 ohm 0.116 ohm: one "
        "of them with half an ohm of contact in it is another source.",
        findings(
            computed("source_impedance", 0.616, "ohm", "level_4", u=0.02, at="output/left/"),
            computed("source_impedance_8", 0.116, "ohm", "level_8", u=0.02, at="output/left/"),
        ),
        findings(
            computed("source_impedance", 0.116, "ohm", "level_4", u=0.02, at="output/left/"),
            computed("source_impedance_8", 0.0321, "ohm", "level_8", u=0.006, at="output/left/"),
        ),
    ),
    "reference-drift": Case(
        f"{PRACTICE}. 2.0 V and then 1.9 V is -0.45 dB.",
        findings(
            computed("reference_drift", 20 * math.log10(1.9 / 2.0), "dB", "reference", u=0.05,
                     at="sweep/left/"),
            result("reference", 2.0, at="sweep/left/"),
            result("reference_again", 1.9, at="sweep/left/"),
        ),
        findings(
            computed("reference_drift", 20 * math.log10(1.98 / 2.0), "dB", "reference", u=0.05,
                     at="sweep/left/"),
        ),
        "reference_again",
    ),
    "point-out-of-line": Case(
        f"{PRACTICE}. One point of a flat row read 10 dB down: a range slip of 3.16.",
        findings(
            *sweep_of((10.0, 0.0), (100.0, -10.0), (1e3, 0.0), (10e3, 0.0)),
            computed("outlier", -10.0, "dB", "100 Hz", at="sweep/left/", point="100 Hz"),
        ),
        findings(*sweep_of((10.0, 0.0), (100.0, 0.0), (1e3, 0.0), (10e3, 0.0))),
        "100 Hz",
    ),
    "channels-share-rails": Case(
        f"{PRACTICE}. One supply read as 35 V at one channel and as 25 V at the other.",
        findings(
            result("rail_plus", 35.0, u=0.1), result("rail_plus", 25.0, u=0.1, at="quiescent/right/")
        ),
        findings(
            result("rail_plus", 35.0, u=0.1), result("rail_plus", 34.6, u=0.1, at="quiescent/right/")
        ),
        "quiescent/right//rail_plus",
    ),
}  # fmt: skip
