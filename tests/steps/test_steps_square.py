"""What the eye sees of a square wave: its uncertainty, and what follows from it."""

from __future__ import annotations

import math

import msgspec
import pytest

from stepwise.judge import LimitFields, Verdict
from stepwise.science import damping_ratio_from_cycles
from stepwise.steps import KINDS, Scene, SquareFields, Workings
from tests.steps.conftest import named

LOOKS = [
    {"tone": "100 Hz", "look_for": ["tilt"]},
    {"tone": "10 kHz", "look_for": ["overshoot", "rise_time", "ringing_frequency"]},
    {"tone": "10 kHz", "capacitor": "100 nF", "look_for": ["ringing_cycles"]},
    {"tone": "10 kHz", "capacitor": "47 nF", "look_for": ["overshoot", "ringing_cycles"]},
]


def _step(**more: object) -> SquareFields:
    plain = {"kind": "square", "id": "square", "title": "Square", "looks": LOOKS, **more}
    return msgspec.convert(plain, SquareFields)


def test_a_look_without_capacitor_keeps_the_load(scene: Scene) -> None:
    looks = Workings([_step()], KINDS, scene).prompts
    across = [{each.what: each.to for each in look.settings} for look in looks]
    said = [each["across the load"] for each in across]
    assert said[0] == "no capacitor"
    assert said[4:] == ["100 nF", "47 nF", "47 nF"]


def test_a_tilt_says_the_low_corner_behind_it(work) -> None:
    results = work([_step()], {"square///100 Hz/none/tilt": "10 %"})

    corner = named(results, "corner_from_tilt")
    # exact exponential: -(f / pi) ln(1 - s), 3.35373 Hz at 100 Hz and 10 %
    assert corner.value == pytest.approx(3.35373, rel=1e-5)
    assert corner.basis == ("square///100 Hz/none/tilt",)
    tilt = named(results, "tilt")
    slope = 100.0 / (math.pi * 90.0)  # of the corner by the tilt [Hz/%]
    assert corner.measure.standard_uncertainty == pytest.approx(
        slope * tilt.measure.standard_uncertainty, rel=1e-3
    )


def test_a_flat_top_has_no_corner(work) -> None:
    results = work([_step()], {"square///100 Hz/none/tilt": "flat"})

    assert not [each for each in results if each.name == "corner_from_tilt"]


def test_a_rise_time_says_bandwidth_and_slope(work) -> None:
    results = work([_step(level="10 V")], {"square///10 kHz/none/rise_time": "4 us"})

    # ln 9 / (2 pi) over the time, and 0.8 of the height over it
    assert named(results, "corner_from_rise_time").value == pytest.approx(87424.7, rel=1e-5)
    slope = named(results, "edge_slope")
    assert (slope.value, slope.unit) == (pytest.approx(2e6), "V/s")
    rise = named(results, "rise_time").measure
    relative = math.hypot(rise.standard_uncertainty / 4e-6, 0.05 / math.sqrt(3.0))
    assert slope.measure.standard_uncertainty == pytest.approx(relative * 2e6, rel=1e-3)
    # the eye at both ends of four divisions of a microsecond, and 3 % of a common time base
    assert rise.standard_uncertainty == pytest.approx(
        math.hypot(0.1e-6, 0.1e-6, 0.12e-6) / math.sqrt(3.0)
    )


def test_without_a_level_there_is_no_slope(work) -> None:
    results = work([_step()], {"square///10 kHz/none/rise_time": "4 us"})

    assert not [each for each in results if each.unit == "V/s"]


def test_a_ringing_frequency_has_the_oscilloscopes_uncertainty(work) -> None:
    results = work([_step()], {"square///10 kHz/none/ringing_frequency": "250.00 kHz"})

    ringing = named(results, "ringing_frequency")
    assert ringing.value == 250e3
    assert 0.02 < ringing.measure.standard_uncertainty / 250e3 < 0.05


def test_overshoot_says_the_damping_ratio(work) -> None:
    results = work([_step()], {"square///10 kHz/none/overshoot": "16.3034 %"})

    assert named(results, "damping_ratio").value == pytest.approx(0.5, abs=1e-5)


def test_cycles_say_the_damping_where_no_overshoot_does(work) -> None:
    results = work([_step()], {"square///10 kHz/100 nF/ringing_cycles": "6"})

    damping = named(results, "damping_ratio")
    # exp(-2 pi z n) falls to 2 % after six and a half cycles, nearly
    assert damping.value == pytest.approx(math.log(50) / (2 * math.pi * 6.5), rel=0.01)
    assert damping.measure.standard_uncertainty > 0.005
    both = {"overshoot": "30 %", "ringing_cycles": "2"}
    results = work([_step()], {f"square///10 kHz/47 nF/{name}": t for name, t in both.items()})
    assert named(results, "damping_ratio").point == "10 kHz/47 nF/overshoot"
    none = {"overshoot": "none", "ringing_cycles": "0"}
    results = work([_step()], {f"square///10 kHz/47 nF/{name}": t for name, t in none.items()})
    assert not [each for each in results if each.name == "damping_ratio"]


def test_what_follows_is_held_against_its_limit(work) -> None:
    limits = {
        "corner_from_tilt": LimitFields(max="2 Hz"),
        "corner_from_rise_time": LimitFields(min="40 kHz"),
        "damping_ratio": LimitFields(min="0.3"),
    }
    step = _step(limits={name: msgspec.to_builtins(each) for name, each in limits.items()})
    typed = {
        "square///100 Hz/none/tilt": "2/5",
        "square///10 kHz/none/rise_time": "4 us",
        "square///10 kHz/none/overshoot": "16 %",
    }
    results = work([step], typed)

    assert named(results, "corner_from_tilt").judgement.verdict is Verdict.OUT_OF_SPEC
    assert named(results, "corner_from_rise_time").judgement.verdict is Verdict.IN_SPEC
    assert named(results, "damping_ratio").judgement.verdict is Verdict.IN_SPEC


def test_an_edge_slower_than_the_sweep_explains_is_slewing(scene, work) -> None:
    from stepwise.steps import SweepFields

    sweep = msgspec.convert(
        {
            "kind": "sweep", "id": "sweep", "title": "Sweep", "reference": "1 kHz",
            "points": ["10 kHz", "20 kHz", "40 kHz", "80 kHz", "100 kHz"],
        },
        SweepFields,
    )  # fmt: skip
    # one pole at 60 kHz: 5.83 us of rise time
    levels = {"10 kHz": "-0.1", "20 kHz": "-0.5", "40 kHz": "-1.6", "80 kHz": "-4.4",
              "100 kHz": "-5.8"}  # fmt: skip
    typed = {f"sweep///{point}": text for point, text in levels.items()}
    typed["sweep///reference"] = "1 V"
    rise = "square///10 kHz/none/rise_time"

    fast = work([sweep, _step(level="10 V")], typed | {rise: "5.8 us"})
    slow = work([sweep, _step(level="10 V")], typed | {rise: "16 us"})
    assert named(fast, "edge_slope").value == pytest.approx(8.0 / 5.8e-6)
    assert named(slow, "slew_rate").value == pytest.approx(8.0 / 16e-6)


def test_two_poles_make_a_slow_edge_and_no_slewing(scene, work) -> None:
    from stepwise.steps import SweepFields

    # two poles at 60 kHz: 3 dB down at 60 kHz sqrt(sqrt 2 - 1) = 38.6 kHz; 10 % to 90 % of
    # 1 - (1 + x) exp(-x) takes x = 3.358, 8.91 us
    points = (10, 16, 20, 30, 40, 50, 63, 80, 100, 125, 160)
    levels = {f"{at} kHz": -20.0 * math.log10(1.0 + (at / 60.0) ** 2) for at in points}
    sweep = msgspec.convert(
        {
            "kind": "sweep", "id": "sweep", "title": "Sweep", "reference": "1 kHz",
            "points": list(levels),
        },
        SweepFields,
    )  # fmt: skip
    typed = {f"sweep///{point}": f"{level:.2f}" for point, level in levels.items()}
    typed |= {"sweep///reference": "1 V", "square///10 kHz/none/rise_time": "8.91 us"}

    results = work([sweep, _step(level="10 V")], typed)
    assert named(results, "corner_high").value > 1.3 * named(results, "minus_3db_high").value
    assert named(results, "edge_slope").value == pytest.approx(8.0 / 8.91e-6)


@pytest.mark.parametrize("zeta", [0.03, 0.1, 0.2, 0.4])
def test_cycles_of_a_known_ringing_say_its_damping_within_half_a_cycle(zeta: float) -> None:
    decrement = zeta / math.sqrt(1.0 - zeta**2)
    seen = math.log(50.0 / math.sqrt(1.0 - zeta**2)) / (2.0 * math.pi * decrement)

    assert damping_ratio_from_cycles(seen - 0.5, 2.0) == pytest.approx(zeta, rel=1e-6)
    assert damping_ratio_from_cycles(math.floor(seen), 2.0) == pytest.approx(zeta, rel=0.5 / seen)


@pytest.mark.parametrize(("cycles", "visible"), [(-0.5, 2.0), (3.0, 0.0), (3.0, 100.0)])
def test_cycles_that_cannot_be_are_refused(cycles: float, visible: float) -> None:
    with pytest.raises(ValueError, match=r"cycles|told"):
        damping_ratio_from_cycles(cycles, visible)
