"""What a flag makes of the readings beside it: whose fault it is, what waits, what closes."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from stepwise.judge import Findings, Flag, Result, Severity, ToneSpan
from stepwise.judge.flags import find_flags
from stepwise.judge.flags.sure import SURE, difference, surely_above
from stepwise.quantities import Uncertain
from tests.judge.flag_case import at_most, computed, findings, result
from tests.judge.flag_cases_board import CLIP, CLIP4, heat, powers, sags, share
from tests.judge.flag_cases_physics import corner, level, rails, rise, sweep_of, tilt
from tests.judge.flag_cases_response import end

TEN = {"claimed_power_4": 60.0, "claimed_distortion_4": 10.0, "claimed_when_clipped_4": 1.0}
ONE = {"claimed_power_4": 60.0, "claimed_distortion_4": 1.0}


def one(name: str, found: Findings) -> Flag:
    (flag,) = [flag for flag in find_flags(found) if flag.name == name]
    return flag


def names(found: Findings) -> set[str]:
    return {flag.name for flag in find_flags(found)}


# Significance


def test_what_two_readings_owe_to_one_range_cancels() -> None:
    first = Uncertain(20.0, {"range": 0.5, "one": 0.03})
    second = Uncertain(19.0, {"range": 0.5, "two": 0.04})
    assert difference(first, second).standard_uncertainty == pytest.approx(0.05)


def test_one_meter_at_its_limit_of_error_is_never_surely_off() -> None:
    # A rectangular limit a has the standard uncertainty a / sqrt 3 (JCGM 100, 4.3.7).
    limit = 0.9
    honest = Uncertain(10.0 + limit, {"range": limit / math.sqrt(3.0)})
    assert math.sqrt(3.0) < SURE
    assert not surely_above(honest, 10.0)


def test_a_swing_within_what_the_meters_leave_open_is_no_flag() -> None:
    # 24.9 V RMS is 35.2 V peak: over a rail of 35 V, but not by three times 0.7 V.
    assert "swing-above-rails" not in names(findings(level(24.9), *rails(35.0)))


def test_with_an_output_capacitor_the_swing_is_half_a_rail() -> None:
    # 20 V RMS is 28.3 V peak: half of 50 V is not enough, though 50 V would be.
    found = findings(level(20.0), result("rail_plus", 50.0, u=0.1, at=CLIP))
    assert "swing-above-rails" not in names(found)
    facts = {"output_capacitor": 2200e-6}
    assert "swing-above-rails" in names(Findings(found.results, facts))


# Claims


def at_ten(found: list[Result]) -> tuple[str, ...]:
    return tuple(f"{each.key}_at_ten_percent" for each in found if each.name == "level")


def test_a_claim_at_ten_percent_waits_for_its_own_reading() -> None:
    read = powers(50.0, None)
    waiting = findings(*read, share(83.3), facts=TEN, awaited=at_ten(read))
    assert not {"claim-not-met", "claim-only-at-ten-percent"} & names(waiting)


def test_a_clean_claim_waits_too_for_one_reading_settles_what_to_say() -> None:
    read = powers(50.0, None)
    assert "claim-not-met" not in names(
        findings(*read, share(83.3), facts=ONE, awaited=at_ten(read))
    )
    assert "claim-not-met" in names(findings(*read, share(83.3), facts=ONE))


def test_clean_power_alone_refutes_a_claim_at_ten_percent_only_beyond_its_reach() -> None:
    # 10 % gives 1.28776 times clean power at most: 83.3 % could be 107 %, 60 % is 77 %.
    assert "claim-not-met" not in names(findings(*powers(50.0, None), share(83.3), facts=TEN))
    assert "claim-not-met" in names(findings(*powers(36.0, None), share(60.0), facts=TEN))


def test_only_a_claim_that_says_no_distortion_asks_for_the_level_at_ten_percent() -> None:
    def said(facts: dict[str, float]) -> Flag:
        return one("claim-not-met", findings(*powers(36.0, None), share(60.0), facts=facts))

    open_claim = {"claimed_power_4": 60.0}
    at_one = said(ONE | {"ten_percent/clip": 1.0})
    assert at_one.next_try == "Take the level once more with the tops just round."
    assert not any("10 %" in text for text in at_one.likely)
    asked = said(open_claim | {"ten_percent/clip": 1.0})
    assert asked.next_try.endswith("to see whether the claim holds there.")
    assert "The claim was made at 10 % distortion" in asked.likely
    assert "does not ask for the level at 10 %" in said(open_claim).next_try
    assert said(TEN).next_try == "Take the level once more where the tops are well flattened."


def test_a_claim_missed_everywhere_is_said_once_a_load() -> None:
    found = findings(
        *powers(30.0, 38.0), share(50.0), *powers(20.0, 26.0, CLIP), share(33.3, at=CLIP),
        facts={"claimed_power_any": 60.0},
    )  # fmt: skip
    flags = [flag for flag in find_flags(found) if flag.name.startswith("claim")]
    assert [(flag.name, flag.load) for flag in flags] == [
        ("claim-not-met", "4 ohm"),
        ("claim-not-met", "8 ohm"),
    ]


def test_the_rails_come_first_where_even_a_perfect_stage_would_miss() -> None:
    ceiling = computed("ceiling", 55.0, "W", "rail_plus", at=CLIP4)
    flag = one("claim-not-met", findings(*powers(45.0, 50.0), share(75.0), ceiling, facts=ONE))
    assert flag.likely[0].startswith("The rails")
    roomy = computed("ceiling", 75.0, "W", "rail_plus", at=CLIP4)
    flag = one("claim-not-met", findings(*powers(45.0, 50.0), share(75.0), roomy, facts=ONE))
    assert flag.likely[0].startswith("The output stage")


# Whose fault it is


def high_end(*beside: Result, facts: dict[str, float] | None = None) -> Flag:
    return one(
        "early-roll-off-high",
        findings(end("minus_3db_high", 15e3, 300.0), *beside, facts=facts),
    )


def test_a_fast_edge_puts_the_high_end_down_to_the_bench() -> None:
    # 0.35 / 15 kHz is 23 us; an edge of 3.5 us is one of 100 kHz.
    assert high_end(rise(3.5)).likely[0].startswith("The meter's or the oscillator's")
    assert high_end(rise(23.3)).likely[0].startswith("Input filter")


def test_two_channels_that_fall_at_one_place_share_what_makes_them_fall() -> None:
    other = end("minus_3db_high", 15.2e3, 300.0, channel="right")
    found = findings(end("minus_3db_high", 15e3, 300.0), other)
    first = [flag.likely[0] for flag in find_flags(found)]
    assert all("both channels" in text for text in first)


def test_a_bench_whose_response_was_taken_off_is_not_blamed() -> None:
    flag = high_end(rise(3.5), facts={"bench_response": 1.0})
    assert not any("meter" in text for text in flag.likely)


def test_the_capacitance_that_loads_the_oscillator_is_worked_out() -> None:
    # 1 / (2 pi 600 ohm 15 kHz) = 17.7 nF is no lead; 1 / (2 pi 2.2 kohm 15 kHz) = 4.8 nF may be.
    assert not any(
        "loaded by" in text for text in high_end(facts={"source_resistance": 600.0}).likely
    )
    flag = high_end(facts={"source_resistance": 2200.0})
    assert any("4.8 nF" in text for text in flag.likely)


def test_a_square_wave_that_hardly_tilts_puts_the_low_end_down_to_the_bench() -> None:
    # A corner of 26.9 Hz tilts a 100 Hz square by 57 % (1 - exp(-pi fc / f)).
    flag = one("early-roll-off-low", findings(end("minus_3db_low", 26.9), tilt(10.0)))
    assert flag.likely[0].startswith("The oscillator or the meter")
    flag = one("early-roll-off-low", findings(end("minus_3db_low", 26.9), tilt(57.0)))
    assert flag.likely[0].startswith("Coupling capacitor")


def test_the_cure_is_named() -> None:
    # 1 / (2 pi 22 kohm 26.9 Hz) = 0.27 uF; for 20 Hz 0.36 uF, the next E6 value is 0.47 uF.
    cure = computed("cure_capacitance", 0.47e-6, "F", "10 Hz", at="sweep/left/")
    acts = computed("coupling_capacitance", 0.27e-6, "F", "10 Hz", at="sweep/left/")
    flag = one("early-roll-off-low", findings(end("minus_3db_low", 26.9), acts, cure))
    assert "0.27 µF" in flag.likely[0]
    assert "0.47 µF" in flag.next_try


def test_a_sweep_that_slews_is_told_from_a_narrow_one() -> None:
    # 0.36 V/us (10 V in 22.5 us, 10 % to 90 %) makes a sine of 8.8 V peak a triangle above
    # 6.4 kHz: 2 pi f Up is the slope of a sine, SR / (4 f) the triangle's peak.
    beside = (
        end("minus_3db_high", 11e3, 500.0),
        *sweep_of((10.0, 0.0), (5e3, 0.0), (10e3, -2.4), (20e3, -8.0)),
        result("reference", 6.25, u=0.17, at="sweep/left/"),
    )
    slewing = findings(*beside, rise(22.5), slope(0.8 * 10.0 / 22.5e-6))
    assert "slew-limited" in names(slewing)
    assert one("early-roll-off-high", slewing).likely[0].startswith("Level so high")
    narrow = findings(*beside, rise(31.8), slope(0.8 * 10.0 / 31.8e-6))
    assert not {"slew-limited", "rise-time-against-sweep"} & names(narrow)
    quick = findings(*beside, rise(5.0), slope(0.8 * 10.0 / 5e-6))
    assert "rise-time-against-sweep" in names(quick)


def test_an_edge_that_the_bandwidth_explains_has_no_slew_rate() -> None:
    # 27 us times 13 kHz is 0.35: one pole (ln 9 / 2 pi), however slow the edge is in volts.
    at, point = "square/left/", "10 kHz/none/rise_time"
    slew = computed("slew_rate", 0.3e6, "V/s", "rise_time", u=1e4, at=at, point=point)
    clean = result("level", 21.0, u=0.2, at=CLIP)
    explained = findings(clean, slew, rise(27.0), end("minus_3db_high", 13e3, 500.0))
    assert "slew-limited" not in names(explained)
    assert "slew-limited" in names(findings(clean, slew, rise(27.0)))


def slope(volts_per_second: float) -> Result:
    at, point = "square/left/", "10 kHz/none/rise_time"
    return computed("edge_slope", volts_per_second, "V/s", "rise_time", at=at, point=point)


def test_a_flat_sweep_bounds_the_tilt() -> None:
    # -0.5 dB at 10 Hz is a corner of 3.5 Hz: 10 % of tilt at 100 Hz, not 35 %.
    row = sweep_of((10.0, -0.5), (20.0, 0.0), (1e3, 0.0))
    assert "tilt-against-sweep" in names(findings(tilt(35.0), *row))
    assert "tilt-against-sweep" not in names(findings(tilt(10.0), *row))


def test_a_second_order_end_tilts_as_the_sum_of_its_corners() -> None:
    # Two corners of 5 Hz (Q of one half): 1 - exp(-pi 10 / 100) = 27 %, not 14.5 %.
    q = computed("q_low", 0.5, "", "10 Hz", at="sweep/left/")
    row = [*sweep_of((10.0, -1.9), (1e3, 0.0)), corner("corner_low", 5.0, 0.2), q]
    assert "tilt-against-sweep" not in names(findings(tilt(27.0), *row))


# Supply


def test_one_supply_that_gives_way_is_one_flag_however_many_passes_show_it() -> None:
    found = findings(
        *sags(8.3, 18.0, 18.0), *sags(9.0, 21.0, 21.0, CLIP4),
        *sags(8.3, 18.0, 18.0, "clip/right/8 ohm"),
    )  # fmt: skip
    assert [flag.name for flag in find_flags(found)] == ["transformer-limit"]


def test_a_rail_that_fails_alone_is_not_also_called_a_weak_supply() -> None:
    assert names(findings(*sags(2.0, 8.0, 24.0))) == {"one-rail-weak"}


def test_a_slip_of_a_level_is_not_judged_as_if_the_board_had_done_it() -> None:
    # 20 V read on the wrong range is 63 V: 496 W into 8 ohm.
    wrong = findings(
        level(63.2), *rails(35.0), computed("power", 499.0, "W", "level", u=8.0),
        computed("transformer_load", 600.0, "%", "level", u=9.0),
        facts={"transformer_rating": 160.0, "load_rating_8": 100.0},
    )  # fmt: skip
    assert names(wrong) == {"swing-above-rails"}


# What stays shut


def test_volts_of_offset_keep_loudspeakers_off_and_say_why() -> None:
    flag = one("dc-offset", findings(result("offset", 6.0)))
    assert flag.severity is Severity.STOP
    # So much leaves the stage no swing on one side, and heats a dummy load too.
    assert flag.closes == ("loudspeaker", "tone")
    # 6 V into a coil of 6 ohm: 6 W.
    assert "6.0 W" in flag.says
    assert one("dc-offset", findings(result("offset", 3.0))).closes == ("loudspeaker",)
    mild = one("dc-offset", findings(result("offset", 0.15)))
    assert (mild.severity, mild.closes) == (Severity.WRONG, ())


def test_endless_ringing_shuts_the_looks_with_a_capacitor() -> None:
    cycles = result("ringing_cycles", 12.0, "", u=0.3, at="square/left/", point="10 kHz/100 nF/c")
    assert one("rings-without-end", findings(cycles)).closes == ("capacitor",)


def test_metal_that_burns_shuts_everything_with_a_tone() -> None:
    flag = one("too-hot", findings(heat(95.0)))
    assert flag.severity is Severity.STOP
    assert "tone" in flag.closes


def test_what_the_finger_calls_too_hot_is_too_hot() -> None:
    # 60 to 90 degrees, rectangular: 75 with a standard uncertainty of 8.7.
    assert "too-hot" in names(findings(heat(75.0, u=30.0 / math.sqrt(12.0))))
    assert "too-hot" not in names(findings(heat(52.5, u=15.0 / math.sqrt(12.0))))


def test_units_keep_their_capitals_wherever_they_stand() -> None:
    current, noise = result("idle_current", 0.6, "A", u=0.01), result("residual_noise", 2.0, u=0.02)
    says = one("oscillation-at-idle", findings(current, noise)).says
    assert "600 mA" in says
    assert "2.000 V" in says


# Heat, tone, points


def test_a_row_taken_while_it_cools_down_is_no_riddle() -> None:
    row = [
        heat(value, f"heatsink at {time} min") for time, value in ((2, 60.0), (5, 50.0), (9, 43.0))
    ]
    assert "cooler-while-driven" not in names(findings(*row))


def test_a_bias_that_runs_away_with_the_heat() -> None:
    # 44 mA cold and 126 mA hot: common practice, no source.
    cold = result("idle_current", 0.044, "A", u=1e-4, at="cold/left/")
    hot = result("idle_current_hot", 0.126, "A", u=3e-4, at="hot/left/")
    flag = one("idle-current-against-heat", findings(cold, hot))
    assert flag.keys[0].endswith("idle_current_hot")
    level_off = replace(hot, measure=Uncertain(0.06, {"x": 3e-4}))
    assert find_flags(findings(cold, level_off)) == ()


def test_a_point_off_the_line_of_both_channels_is_a_shape() -> None:
    def off(channel: str) -> list[Result]:
        at = f"sweep/{channel}/"
        return [
            *sweep_of((10.0, 0.0), (100.0, -2.0), (1e3, 0.0), channel=channel),
            computed("outlier", -2.0, "dB", "100 Hz", at=at, point="100 Hz"),
        ]

    assert "point-out-of-line" in names(findings(*off("left")))
    assert "point-out-of-line" not in names(findings(*off("left"), *off("right")))


def test_a_running_tone_is_graver_than_one_that_is_over() -> None:
    span = ToneSpan("clip", "left", "8 ohm", 40.0, 15.0)
    over = one("tone-too-long", findings(tones=(span,)))
    running = one("tone-too-long", findings(tones=(replace(span, running=True),)))
    assert (over.severity, running.severity) == (Severity.LOOK, Severity.WRONG)


def test_the_bench_alone_is_not_called_an_amplifier() -> None:
    low = computed("minus_3db_low", 30.0, "Hz", "10 Hz", at="flatness//", limit=at_most(20.0, "Hz"))
    assert "early-roll-off-low" not in names(findings(low, facts={"of_bench/flatness": 1.0}))
    assert "early-roll-off-low" in names(findings(low))
