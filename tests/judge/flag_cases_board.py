"""The board and its supply: power, claims, stability, heat, offset, protection."""

from __future__ import annotations

from stepwise.judge import Result, ToneSpan
from tests.judge.flag_case import (
    Case,
    at_least,
    at_most,
    computed,
    findings,
    result,
    within,
)

CLIP = "clip/left/8 ohm"
CLIP4 = "clip/left/4 ohm"
PRACTICE = "common practice, no source: a bench example worked by hand"
SQUARE = "square/left/"


def sags(secondary: float, plus: float, minus: float, at: str = CLIP) -> list[Result]:
    limit = at_most(15.0, "%")
    pairs = {"secondary_volts": secondary, "rail_plus": plus, "rail_minus": minus}
    return [
        computed("sag", value, "%", f"quiescent/left//{name}", name, u=0.3, at=at, point=name, limit=limit)
        for name, value in pairs.items()
    ]  # fmt: skip


def share(percent: float, u: float = 2.0, at: str = CLIP4) -> Result:
    return computed("claim_ratio", percent, "%", "level", u=u, at=at)


def powers(clean: float, loud: float | None, at: str = CLIP4) -> list[Result]:
    ohms = float(at.rpartition("/")[2].split()[0])
    found = [
        result("level", (clean * ohms) ** 0.5, at=at),
        computed("power", clean, "W", "level", at=at),
    ]
    if loud is not None:
        found.append(
            computed("power_at_ten_percent", loud, "W", "level_at_ten_percent", u=1.0, at=at)
        )
    return found  # fmt: skip


def heat(celsius: float, point: str = "heatsink", at: str = "heat/left/", u: float = 0.8) -> Result:
    return result("temperature", celsius, "C", u=u, at=at, point=point)


def lost(volts: float, at: str) -> Result:
    return computed("headroom_loss", volts, "V", "rail_plus", "level", u=0.2, at=at)


def look(name: str, value: float, unit: str, capacitor: str = "none", u: float = 0.3) -> Result:
    return result(name, value, unit, u=u, at=SQUARE, point=f"10 kHz/{capacitor}/{name}")


CASES: dict[str, Case] = {
    "reservoirs-live": Case(
        f"{PRACTICE}. 34 V left on a reservoir of 4700 uF is 2.7 J: a burn, and a start.",
        findings(
            result("rail_plus_dead", 0.4, u=0.01, at="dead-volts//"),
            result("rail_minus_dead", -34.0, u=0.1, at="dead-volts//"),
        ),
        findings(
            result("rail_plus_dead", 0.4, u=0.01, at="dead-volts//"),
            result("rail_minus_dead", -9.5, u=0.1, at="dead-volts//"),
        ),
        "rail_minus_dead",
    ),
    "dc-offset": Case(
        "Below 0.1 V is generally called safe (common practice): 30 V stuck on a coil of 6 ohm "
        "is 150 W, 10 mV nothing.",
        findings(result("offset", 30.0, limit=within(0.05, "V"))),
        findings(result("offset", 0.01, limit=within(0.05, "V"))),
    ),
    "protection-late": Case(
        f"{PRACTICE}. 150 W in a coil that bears 50 W.",
        findings(result("protection_time", 4.0, "s", u=0.3)),
        findings(result("protection_time", 0.3, "s", u=0.1)),
    ),
    "switch-on-thump": Case(
        f"{PRACTICE}. 3 V peak at switching on.",
        findings(result("thump", 3.0, u=0.1)),
        findings(result("thump", 0.3, u=0.05)),
    ),
    "reservoir-over-rating": Case(
        "35-0-35 V AC charges to 48.5975 V a rail (0.9 V a diode): over a rating of 35 V.",
        findings(result("rail_plus", 48.6, u=0.1), facts={"reservoir_rating": 35.0}),
        findings(result("rail_plus", 34.36, u=0.1), facts={"reservoir_rating": 50.0}),
    ),
    "reservoir-margin": Case(
        "Mains of nominal value + 10 % (EN 50160, from memory): 48.6 V becomes 53.5 V on 50 V.",
        findings(result("rail_plus", 48.6, u=0.1), facts={"reservoir_rating": 50.0}),
        findings(result("rail_plus", 40.0, u=0.1), facts={"reservoir_rating": 50.0}),
    ),
    "rail-to-rail-shock": Case(
        "Plus and minus 35 V is 70 V DC, over the 60 V of IEC 62368-1 ES1 (from memory).",
        findings(result("rail_plus", 35.0), result("rail_minus", -35.0)),
        findings(result("rail_plus", 25.0), result("rail_minus", -25.0)),
    ),
    "supply-sag": Case(
        "45 V falling to 36 V is 20 % down; the winding was not read.",
        findings(sags(0.0, 20.0, 20.0)[1], sags(0.0, 20.0, 20.0)[2]),
        findings(sags(0.0, 11.1, 11.1)[1], sags(0.0, 11.1, 11.1)[2]),
    ),
    "transformer-limit": Case(
        "240 V falling to 220 V is a regulation of 9.09 % up, 8.3 % down (published): a winding "
        "that falls by that takes rails down with it.",
        findings(*sags(8.3, 18.0, 18.0)),
        findings(*sags(4.0, 10.0, 10.0)),
    ),
    "reservoir-weak": Case(
        "2 A from 1000 uF at 60 Hz is 16.7 V of ripple peak to peak (published): rails of 45 V "
        "fall by 18.5 % on the mean while the winding hardly moves.",
        findings(*sags(1.0, 18.5, 18.5)),
        findings(*sags(1.0, 3.3, 3.3)),
    ),
    "one-rail-weak": Case(
        "3 A from 10000 uF at 50 Hz is 3.0 V of ripple, from 1000 uF ten times that: the weak "
        "side's mean falls by 13.5 V more, of 45 V.",
        findings(*sags(3.0, 8.0, 14.0)),
        findings(*sags(3.0, 8.0, 8.5)),
        "clip/left/8 ohm/rail_minus",
    ),
    "transformer-overloaded": Case(
        f"{PRACTICE}. 208 VA from a transformer of 160 VA.",
        findings(computed("transformer_load", 130.0, "%", "level", u=4.0)),
        findings(computed("transformer_load", 80.0, "%", "level", u=4.0)),
    ),
    "current-limited": Case(
        "Rails 38 V, 0.6 ohm: 34.18 V peak into 8 ohm (4.3 A) and 33.41 V into 4 ohm (8.4 A). A "
        "limiter at 5 A lets 20 V through: 16.4 V of 36.4 V are lost, not 3.",
        findings(
            result("level", 24.17, u=0.2, at=CLIP),
            lost(3.0, CLIP),
            result("level", 14.14, u=0.2, at=CLIP4),
            lost(16.4, CLIP4),
        ),
        findings(
            result("level", 24.17, u=0.2, at=CLIP),
            lost(3.0, CLIP),
            result("level", 23.62, u=0.2, at=CLIP4),
            lost(3.0, CLIP4),
        ),
        "clip/left/4 ohm/level",
    ),
    "swing-lost": Case(
        "35 V, 3 V of drop, 8 ohm: 64.0 W (published check); with 12 V lost it is 33 W.",
        findings(result("level", 16.26, u=0.2, at=CLIP), lost(12.0, CLIP)),
        findings(result("level", 22.63, u=0.2, at=CLIP), lost(3.0, CLIP)),
        "level",
    ),
    "output-impedance-high": Case(
        "1.000 V open and 0.900 V into 30 ohm is 3.33 ohm, a damping factor of 2.4; 2.83 V and "
        "2.75 V into 4 ohm is 0.116 ohm, one of 68.75 (published examples).",
        findings(computed("source_impedance", 3.33333, "ohm", "level_4", u=0.3, at="output/left/")),
        findings(computed("source_impedance", 0.116364, "ohm", "level_4", u=0.05, at="output/left/")),
    ),
    "claim-not-met": Case(
        f"{PRACTICE}. 40 W for 60 W claimed, at 10 % as well.",
        findings(
            *powers(36.0, 42.0), share(70.0),
            facts={"claimed_power_4": 60.0, "claimed_distortion_4": 10.0},
        ),
        findings(
            *powers(52.0, 66.0), share(110.0),
            facts={"claimed_power_4": 60.0, "claimed_distortion_4": 10.0},
        ),
        "level",
    ),
    "claim-only-at-ten-percent": Case(
        "Power at 10 % is 1.28776 of clean power (clipped sine): 50 W clean, 64.4 W at 10 %, "
        "60 W claimed at 1 %.",
        findings(
            *powers(50.0, 64.4), share(83.3),
            facts={"claimed_power_4": 60.0, "claimed_distortion_4": 1.0},
        ),
        findings(
            *powers(62.0, 79.8), share(103.3),
            facts={"claimed_power_4": 60.0, "claimed_distortion_4": 1.0},
        ),
    ),
    "claim-only-at-one-load": Case(
        "A stiff supply gives into 8 ohm half of what it gives into 4 ohm.",
        findings(
            *powers(62.0, None), share(103.3), *powers(31.0, None, CLIP), share(51.7, at=CLIP),
            facts={"claimed_power_any": 60.0},
        ),
        findings(
            *powers(62.0, None), share(103.3), *powers(61.0, None, CLIP), share(101.0, at=CLIP),
            facts={"claimed_power_any": 60.0},
        ),
    ),
    "claim-names-no-load": Case(
        f"{PRACTICE}. Watts without ohms.",
        findings(*powers(62.0, None), share(103.3), facts={"claimed_power_any": 60.0}),
        findings(*powers(62.0, None), share(103.3), facts={"claimed_power_4": 60.0}),
    ),
    "rings-without-end": Case(
        "Ringing told down to 2 % for 15 cycles is a damping ratio of ln 50 / (2 pi 15) = 0.04, "
        "some 4 degrees of phase margin (100 d, textbook).",
        findings(look("ringing_cycles", 15.0, "", "100 nF")),
        findings(look("ringing_cycles", 3.0, "", "100 nF")),
    ),
    "rings-with-capacitor": Case(
        "A damping ratio of 0.2 overshoots by 52.66 % (second-order step), one of 0.4 by 25.38 %.",
        findings(look("overshoot", 52.66, "%", "100 nF", 1.2)),
        findings(look("overshoot", 25.38, "%", "100 nF", 1.2)),
    ),
    "overshoot-too-much": Case(
        "A damping ratio of 0.3 overshoots by 37.23 %, one of 0.7 by 4.6 % (second-order step).",
        findings(look("overshoot", 37.23, "%", u=1.2)),
        findings(look("overshoot", 4.6, "%", u=1.2)),
    ),
    "slew-limited": Case(
        "100 W into 8 ohm at 20 kHz needs 5.02655 V/us (published): 2 V/us cannot.",
        findings(
            result("level", 28.2843, u=0.3, at=CLIP),
            computed("slew_rate", 2e6, "V/s", "rise_time", u=1e5, at=SQUARE),
        ),
        findings(
            result("level", 28.2843, u=0.3, at=CLIP),
            computed("slew_rate", 6e6, "V/s", "rise_time", u=1e5, at=SQUARE),
        ),
    ),
    "oscillation-at-idle": Case(
        f"{PRACTICE}. 0.6 A and 2 V of noise with the input shorted.",
        findings(
            result("idle_current", 0.6, "A", u=0.01), result("residual_noise", 2.0, u=0.02)
        ),
        findings(
            result("idle_current", 0.05, "A", u=0.001), result("residual_noise", 0.001, u=1e-5)
        ),
        "idle_current",
    ),
    "idle-current-against-heat": Case(
        f"{PRACTICE}. Next to no current, and a heatsink at 58 C before any tone.",
        findings(result("idle_current", 0.001, "A", u=1e-4), heat(58.0, at="idle-heat//")),
        findings(result("idle_current", 0.05, "A", u=1e-4), heat(40.0, at="idle-heat//")),
    ),
    "idle-currents-differ": Case(
        f"{PRACTICE}. 40 mA and 150 mA.",
        findings(
            result("idle_current", 0.04, "A", u=1e-3),
            result("idle_current", 0.15, "A", u=1e-3, at="quiescent/right/"),
        ),
        findings(
            result("idle_current", 0.04, "A", u=1e-3),
            result("idle_current", 0.06, "A", u=1e-3, at="quiescent/right/"),
        ),
        "quiescent/right//idle_current",
    ),
    "too-hot": Case(
        "Burn-institute table: metal of 60 C burns in under 5 s; 49 C takes over 5 min.",
        findings(heat(75.0)),
        findings(heat(49.0)),
    ),
    "heat-to-come": Case(
        "Readings of 40, 60 and 70 C end at 80 C, those of 30, 40 and 46 C at 55 C (Aitken).",
        findings(computed("final_temperature", 80.0, "C", "a", "b", "c", u=2.0, at="soak//")),
        findings(computed("final_temperature", 55.0, "C", "a", "b", "c", u=2.0, at="soak//")),
        "c",
    ),
    "channel-hotter": Case(
        f"{PRACTICE}. 55 C and 38 C after the same test.",
        findings(heat(55.0), heat(38.0, at="heat/right/")),
        findings(heat(45.0), heat(41.0, at="heat/right/")),
    ),
    "cooler-while-driven": Case(
        "An exponential approach rises all the way (37.3, 46.1, 51.2 C at 5, 10 and 15 min: one "
        "heat capacity, one thermal resistance); it has no dip.",
        findings(
            heat(37.3, "heatsink at 5 min"), heat(46.1, "heatsink at 10 min"),
            heat(38.0, "heatsink at 15 min"),
        ),
        findings(
            heat(37.3, "heatsink at 5 min"), heat(46.1, "heatsink at 10 min"),
            heat(51.2, "heatsink at 15 min"),
        ),
        "heatsink at 15 min",
    ),
    "tone-too-long": Case(
        f"{PRACTICE}. 40 s where 15 s are allowed.",
        findings(tones=(ToneSpan("clip", "left", "8 ohm", 40.0, 15.0),)),
        findings(tones=(ToneSpan("clip", "left", "8 ohm", 12.0, 15.0),)),
    ),
    "rest-not-kept": Case(
        f"{PRACTICE}. 8 s of rest where 30 s are wanted.",
        findings(tones=(ToneSpan("clip", "left", "4 ohm", 12.0, 15.0, rested=8.0, wanted_rest=30.0),)),
        findings(tones=(ToneSpan("clip", "left", "4 ohm", 12.0, 15.0, rested=45.0, wanted_rest=30.0),)),
    ),
    "load-over-rating": Case(
        f"{PRACTICE}. 100 W into a load of 50 W.",
        findings(computed("power", 100.0, "W", "level", u=2.0), facts={"load_rating_8": 50.0}),
        findings(computed("power", 40.0, "W", "level", u=2.0), facts={"load_rating_8": 50.0}),
    ),
    "load-off-mark": Case(
        "A resistor of class J is within 5 % (IEC 60062): 9 ohm is not 8 ohm.",
        findings(computed("resistance_8", 9.0, "ohm", "shown_8", limit=at_most(8.4, "ohm"), at="loads//")),
        findings(computed("resistance_8", 8.1, "ohm", "shown_8", limit=at_most(8.4, "ohm"), at="loads//")),
    ),
    "meter-zero-off": Case(
        f"{PRACTICE}. 30 mV with the leads shorted.",
        findings(result("ac_zero", 0.03, limit=within(0.01, "V"), at="zero//")),
        findings(result("ac_zero", 0.002, limit=within(0.01, "V"), at="zero//")),
    ),
    "bench-not-flat": Case(
        "A low-pass of 80 kHz is 4.09 dB down at 100 kHz against 1 kHz (first order).",
        findings(
            result("level_db", -4.085682, "dB", u=0.1, at="flatness//", point="100 kHz", limit=at_least(-0.5, "dB")),
            facts={"of_bench/flatness": 1.0},
        ),
        findings(
            result("level_db", -4.085682, "dB", u=0.1, at="sweep//", point="100 kHz", limit=at_least(-0.5, "dB")),
        ),
    ),
}  # fmt: skip
