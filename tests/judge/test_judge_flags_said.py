"""What a flag says must be true, and its remedy must follow from its cause."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from stepwise.judge import Limit, Severity, ToneSpan
from tests.judge.flag_case import Case, at_most, findings, result, within
from tests.judge.test_judge_flags import EACH, names, the_flag


def test_a_reading_is_said_as_the_sheet_shows_it() -> None:
    """48.57 V with 0.1 V either way is shown as 48.57, not as 48.6."""
    found = findings(result("rail_plus", 48.57, u=0.05), facts={"reservoir_rating": 35.0})
    assert the_flag("reservoir-over-rating", found).says.startswith("48.57 V stands on")


def test_a_temperature_above_a_hundred_is_not_rounded_to_tens() -> None:
    hot = result("temperature", 104.0, "C", u=0.6, point="heatsink", limit=at_most(70.0, "C"))
    assert "104.0 °C" in the_flag("too-hot", findings(hot)).says


def test_idle_currents_of_two_steps_are_no_pair() -> None:
    """The lamp in the feed keeps the current low: the next step's may well be five times that."""
    lamp = result("idle_current", 0.01, "A", u=1e-4, at="lamp/right/")
    cold = result("idle_current", 0.05, "A", u=1e-4, at="cold/left/")
    assert "idle-currents-differ" not in names(findings(lamp, cold))
    beside = result("idle_current", 0.01, "A", u=1e-4, at="cold/right/")
    assert "idle-currents-differ" in names(findings(cold, beside))


def test_noise_alone_is_not_blamed_on_the_bias() -> None:
    flag = the_flag("oscillation-at-idle", findings(result("residual_noise", 0.2, u=0.004)))
    assert flag.severity is Severity.LOOK
    assert any("Hum" in cause for cause in flag.likely)
    assert not any("bias" in cause for cause in flag.likely)
    assert "idle current" not in flag.next_try


@pytest.mark.parametrize(
    ("rails", "words"),
    [
        (((35.0,), (-35.0,)), "70.0 V DC lies between the rails"),
        # kept without its sign, it is as far from the other rail as before
        (((35.0,), (35.0,)), "70.0 V DC lies between the rails"),
        (((70.0,), ()), "70.0 V DC stands on the rail"),
    ],
)
def test_sixty_volts_are_noticed_however_they_stand(rails, words) -> None:
    plus, minus = rails
    read = [result("rail_plus", volts) for volts in plus]
    read += [result("rail_minus", volts) for volts in minus]
    assert words in the_flag("rail-to-rail-shock", findings(*read)).says


def test_a_lone_rail_of_fifty_volts_may_be_touched() -> None:
    assert "rail-to-rail-shock" not in names(findings(result("rail_plus", 50.0)))


def test_a_display_has_no_screw() -> None:
    limit = within(0.005, "V")
    digital = result("dc_zero", 0.02, limit=limit, at="zero//")
    flag = the_flag("meter-zero-off", findings(digital))
    assert not any("screw" in cause for cause in flag.likely)
    pointer = result("ac_zero", 0.02, limit=limit, at="zero//")
    flag = the_flag("meter-zero-off", findings(pointer))
    assert "screw" in flag.likely[0]


def test_a_level_in_decibels_is_not_held_against_volts() -> None:
    """-1.2 dB is no more than any range; the volts behind it were."""
    level = replace(result("level_db", -1.2, "dB", u=0.1, point="20 Hz"), deflection=1.4)
    flag = the_flag("meter-beyond-range", findings(level))
    assert not flag.says.startswith("-1.2")
    assert [each.value for each in flag.evidence if each.name == "Of the highest range"] == [
        "140 %"
    ]


def test_a_limit_of_another_kind_is_no_margin_of_the_reservoirs() -> None:
    """31 V is 34.1 V at high mains: far from 50 V, whatever the procedure wants of the rail."""
    rail = result("rail_plus", 31.0, u=0.05, limit=at_most(30.0, "V"))
    assert "reservoir-margin" not in names(findings(rail, facts={"reservoir_rating": 50.0}))
    low = result("rail_plus", 20.0, u=0.05, limit=Limit(30.0, None, "V", "at least 30 V"))
    assert "reservoir-margin" not in names(findings(low, facts={"reservoir_rating": 50.0}))
    near = result("rail_plus", 45.4, u=0.05, limit=at_most(45.0, "V"))
    assert "reservoir-margin" in names(findings(near, facts={"reservoir_rating": 50.0}))


def test_what_the_meter_leaves_open_is_no_fault_where_no_limit_is_given() -> None:
    """21 Hz and 19 kHz, each known to a tenth, are 20 Hz and 20 kHz as well."""
    low = result("minus_3db_low", 21.0, "Hz", u=2.0, at="response/left/")
    high = result("minus_3db_high", 19e3, "Hz", u=1.9e3, at="response/left/")
    sag = result("sag", 21.0, "%", u=1.0, at="clip/left/8 ohm", point="rail_plus")
    assert not {"early-roll-off-low", "early-roll-off-high", "supply-sag"} & set(
        names(findings(low, high, sag))
    )


def test_an_output_that_stays_on_is_not_a_protection_that_fails() -> None:
    """Time until silent after switching off: nothing of it says that a fault is not caught."""
    flag = the_flag("protection-late", findings(result("switch_off_time", 12.0, "s", u=0.3)))
    assert flag.severity is Severity.LOOK
    assert "not at all" not in flag.says
    assert "Switched off" in flag.says


def test_a_thump_downwards_is_a_thump() -> None:
    assert "switch-on-thump" in names(findings(result("thump", -3.0, u=0.1)))


def test_a_tone_is_said_to_the_second() -> None:
    """124 s, where 120 s are allowed, are not 120 s."""
    flag = the_flag("tone-too-long", findings(tones=(ToneSpan("soak", None, None, 124.0, 120.0),)))
    assert flag.says == "The tone was on for 124 s."


@EACH
def test_no_remedy_sends_a_finger_to_what_is_hot_or_live(name: str, case: Case) -> None:
    """Loads, resistors and transformers under test burn; a capacitor is bridged with power off."""
    told = the_flag(name, case.seen).next_try.lower()
    assert not re.search(r"\bfeel\b", told)
    if "bridge the" in told:
        assert "power off" in told


@pytest.mark.parametrize(
    ("place", "said", "unsaid"),
    [
        ("rectifier", "diode", "eatsink"),
        ("left regulator", "regulator|Too many volts across it", "fan"),
        ("transformer", "Shorted turns", "eatsink"),
        ("reservoirs", "Ripple", "paste"),
        ("output capacitor", "Ripple", "paste"),
        ("Zobel resistor", "oscillation", "paste"),
        ("heatsink", "the fan does not turn", "diode"),
        ("terminal block", "More current through it", "eatsink"),
    ],
)
@pytest.mark.parametrize("name", ["temperature", "final_temperature"])
def test_the_causes_of_heat_fit_the_part_that_is_hot(
    name: str, place: str, said: str, unsaid: str
) -> None:
    hot = result(name, 85.0, "C", u=0.6, at="heat//", point=place, limit=at_most(60.0, "C"))
    flag = the_flag("too-hot" if name == "temperature" else "heat-to-come", findings(hot))
    words = " ".join((*flag.likely, flag.next_try))
    assert re.search(said, words), words
    assert unsaid not in words
    assert ("idle current again" in words) is (place == "heatsink" and name == "temperature")


def test_one_channel_that_is_hotter_has_the_causes_of_its_part() -> None:
    def apart(place: str) -> str:
        hot = result("temperature", 55.0, "C", u=0.6, at="heat/left/", point=place)
        cool = result("temperature", 38.0, "C", u=0.6, at="heat/right/", point=place)
        flag = the_flag("channel-hotter", findings(hot, cool))
        return " ".join((*flag.likely, flag.next_try))

    assert "diode" in apart("rectifier")
    assert "idle currents" not in apart("rectifier")
    assert "under one device" in apart("heatsink")
    assert "idle currents from cold" in apart("heatsink")


@pytest.mark.parametrize(
    ("volts", "advice", "harms"),
    [(0.06, "bears that", False), (0.5, "before a loudspeaker plays", True), (3.0, "off", True)],
)
def test_the_advice_on_an_offset_fits_what_is_said_of_its_harm(
    volts: float, advice: str, harms: bool
) -> None:
    flag = the_flag("dc-offset", findings(result("offset", volts, limit=within(0.05, "V"))))
    assert advice in flag.next_try
    assert ("harms no loudspeaker" not in flag.says) is harms
    assert flag.next_try.startswith("Keep loudspeakers off") is (volts >= 1.0)
