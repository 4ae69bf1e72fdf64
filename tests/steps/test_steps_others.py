"""Readings with formulas, squares, heat, notes."""

from __future__ import annotations

import math
from dataclasses import replace

import msgspec
import pytest

from stepwise.bench import Meter, MeterType, parse_accuracy
from stepwise.judge import Findings, LimitFields, Verdict
from stepwise.judge.flags import find_flags
from stepwise.steps import (
    KINDS,
    Checker,
    ConfirmFields,
    NoteFields,
    ReadingsFields,
    Scene,
    SquareFields,
    ThermalFields,
    Workings,
    starting_names,
)
from stepwise.steps.note import NoteAsk
from stepwise.steps.reading_fields import DeriveAsk, ReadingAsk
from stepwise.steps.square import Look, SquareLimits
from stepwise.steps.thermal import ThermalLimits
from tests.steps.conftest import Work, named, results_of


def ask(name: str, unit: str = "V", meter: str = "ac", **more: object) -> ReadingAsk:
    return ReadingAsk(name=name, ask=name, unit=unit, meter=meter, **more)


OUTPUT = ReadingsFields(
    id="output",
    title="Output",
    repeat=("channel",),
    readings=(ask("level_open"), ask("level_8", load="8 ohm"), ask("level_2", load="2 ohm")),
    derive=(
        DeriveAsk(
            name="source_impedance", unit="ohm", formula="load_8 * (level_open / level_8 - 1)"
        ),
        DeriveAsk(name="damping_factor", unit="", formula="load_8 / source_impedance"),
    ),
)


def test_source_impedance_follows_from_two_levels(work: Work) -> None:
    # Published: 10.000 V open, 9.960 V into 8 ohm is 0.0321285 ohm, damping factor 249.
    results = work([OUTPUT], {"output/left//level_open": "10", "output/left//level_8": "9.96"})
    assert named(results, "source_impedance").value == pytest.approx(0.0321285, rel=1e-5)
    assert named(results, "damping_factor").value == pytest.approx(249.0, rel=1e-5)


def test_a_reading_into_a_load_that_is_not_borne_is_not_asked(scene: Scene) -> None:
    keys = [prompt.key for prompt in Workings([OUTPUT], KINDS, scene).prompts]
    assert keys[:2] == ["output/left//level_open", "output/left//level_8"]
    assert len(keys) == 4


def test_a_formula_waits_for_all_that_it_needs(work: Work) -> None:
    results = work([OUTPUT], {"output/left//level_open": "10"})
    assert [result.name for result in results] == ["level_open"]


def test_a_formula_is_checked_for_names_and_dimension() -> None:
    step = ReadingsFields(
        id="x",
        title="X",
        readings=(ask("level_open"),),
        derive=(
            DeriveAsk(name="a", unit="V", formula="level_opn * 2"),
            DeriveAsk(name="b", unit="W", formula="level_open * 2"),
            DeriveAsk(name="c", unit="V", formula="open('x')"),
        ),
    )
    checker = Checker(starting_names())
    KINDS["readings"].check(step, checker)
    assert [problem.path[:2] for problem in checker.problems] == [
        ("derive", 0),
        ("derive", 1),
        ("derive", 2),
    ]


def test_an_offset_beyond_its_limit_is_flagged(work: Work) -> None:
    step = ReadingsFields(
        id="quiescent",
        title="Q",
        repeat=("channel",),
        readings=(ask("offset", "mV", "dc", limit=LimitFields(target="0 mV", within="50 mV")),),
    )
    results = work([step], {"quiescent/left//offset": "72", "quiescent/right//offset": "12"})
    assert named(results, "offset", channel="left").judgement.verdict is Verdict.OUT_OF_SPEC
    flags = find_flags(Findings(results))
    assert [(flag.name, flag.channel, flag.severity.value) for flag in flags] == [
        ("dc-offset", "left", "wrong")
    ]
    harmful = find_flags(Findings(work([step], {"quiescent/left//offset": "30 V"})))
    assert harmful[0].severity.value == "stop"


SQUARE = SquareFields(
    id="square",
    title="Square",
    looks=(
        Look(tone="100 Hz", look_for=("tilt",)),
        Look(tone="10 kHz", capacitor="100 nF", look_for=("overshoot", "rise_time")),
    ),
    limits=SquareLimits(overshoot=LimitFields(max="20 %")),
)


def test_what_the_eye_reads_of_a_square_is_judged(work: Work) -> None:
    results = work(
        [SQUARE],
        {
            "square///100 Hz/none/tilt": "12",
            "square///10 kHz/100 nF/overshoot": "2/5",
            "square///10 kHz/100 nF/rise_time": "3.5",
        },
    )
    assert named(results, "overshoot").value == pytest.approx(40.0)
    assert named(results, "overshoot").judgement.verdict is Verdict.OUT_OF_SPEC
    assert named(results, "rise_time").value == pytest.approx(3.5e-6)
    assert named(results, "tilt").judgement.verdict is Verdict.NOTED


HEAT = ThermalFields(
    id="heat",
    title="Heat",
    places=("heatsink", "transformer"),
    limits=ThermalLimits(temperature=LimitFields(max="60 C")),
)


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [
        ("41", Verdict.IN_SPEC),
        ("72 C", Verdict.OUT_OF_SPEC),
        # Too hot to hold is above about 60 degrees: common practice, no source.
        ("too hot to hold", Verdict.OUT_OF_SPEC),
        ("warm", Verdict.IN_SPEC),
    ],
)
def test_heat_is_judged_by_thermometer_and_by_finger(
    work: Work, typed: str, verdict: Verdict
) -> None:
    results = work([HEAT], {"heat///heatsink": typed})
    assert named(results, "temperature").judgement.verdict is verdict


def test_three_timed_temperatures_tell_the_last(work: Work) -> None:
    # Published three-point rule: 30, 40, 46 degrees end at 55.0, tau 1.95762 intervals.
    step = ThermalFields(
        id="soak", title="Soak", places=("heatsink",), at=("0 min", "5 min", "10 min")
    )
    keys = [f"soak///heatsink at {time}" for time in step.at]
    results = work([step], dict(zip(keys, ["30.0", "40.0", "46.0"], strict=True)))
    assert named(results, "final_temperature").value == pytest.approx(55.0)
    assert named(results, "time_constant").value == pytest.approx(1.95762 * 300.0, rel=1e-5)


def test_marks_are_results_and_remarks_are_not(work: Work) -> None:
    step = NoteFields(
        id="marks",
        title="Marks",
        notes=(
            NoteAsk(name="build", ask="Build", mark=True),
            NoteAsk(name="remarks", ask="Remarks"),
        ),
    )
    results = work([step], {"marks///build": "7", "marks///remarks": "tidy [/"})
    assert [(result.name, result.value) for result in results] == [("build", 7.0)]


def test_confirmations_measure_nothing(scene: Scene) -> None:
    step = ConfirmFields(id="safe", title="Safe", hold=True, items=("Loads on", "Feed isolated"))
    prompts = Workings([step], KINDS, scene).prompts
    assert [prompt.key for prompt in prompts] == ["safe///1", "safe///2"]
    assert all(prompt.hold for prompt in prompts)


def test_source_impedance_does_not_count_the_meter_twice(work: Work) -> None:
    typed = {"output/left//level_open": "2.800 on 3", "output/left//level_8": "2.725 on 3"}
    measure = named(work([OUTPUT], typed), "source_impedance").measure
    # By hand: R / U for the range's class times 1 - U0 / U, and for each pointer on its own.
    scale, pointer = 0.03 * 3.0 / math.sqrt(3.0), 3.0 / 120.0 / math.sqrt(12.0)
    slope = 8.0 / 2.725
    assert measure.terms["ac 3 range"] == pytest.approx(
        slope * (1.0 - 2.800 / 2.725) * scale, rel=1e-3
    )
    own = slope * pointer * math.hypot(1.0, 2.800 / 2.725)
    assert measure.standard_uncertainty == pytest.approx(
        math.hypot(own, measure.terms["ac 3 range"]), rel=1e-3
    )
    # Two meters with the same class would leave the figure without any meaning.
    assert measure.standard_uncertainty < 0.25 * slope * scale * math.sqrt(2.0)


def test_the_two_loads_agree_with_the_published_source(work: Work) -> None:
    step = ReadingsFields(
        id="two",
        title="Two loads",
        readings=(ask("level_8", load="8 ohm"), ask("level_4", load="4 ohm")),
        derive=(
            DeriveAsk(
                name="source_impedance",
                unit="ohm",
                formula="(level_8 - level_4) / (level_4 / load_4 - level_8 / load_8)",
            ),
        ),
    )
    # Published: 20.0 V at 8 ohm and 19.6 V at 4 ohm have 0.166667 ohm behind them.
    results = work([step], {"two///level_8": "20.0", "two///level_4": "19.6"})
    assert named(results, "source_impedance").value == pytest.approx(0.166667, rel=1e-5)


RESISTANCE = {
    "kind": "readings",
    "id": "loads",
    "title": "Loads",
    "readings": [{"name": "shown_8", "ask": "8 ohm load", "unit": "ohm", "load": "8 ohm"}],
}
OHMMETER = Meter(
    "multi-ohms",
    MeterType.DIGITAL,
    parse_accuracy("0.8 % + 3 digits"),
    "ohm",
    ranges=(400.0, 4000.0),
    counts=4000,
)


def test_a_resistance_is_read_from_the_ohmmeter_that_the_bench_has(scene: Scene) -> None:
    bench = replace(scene.bench, meters=(*scene.bench.meters, OHMMETER))
    step = msgspec.convert(RESISTANCE, ReadingsFields)
    (prompt,) = Workings([step], KINDS, Scene(scene.unit, bench)).prompts

    assert prompt.meter == "multi-ohms"
    assert prompt.meter_hint == "multi-ohms meter"
    assert prompt.expected.ranges == (400.0, 4000.0)
    results = results_of(Scene(scene.unit, bench), [step], {prompt.key: "8.1"})
    # 0.8 % of 8.1 ohm and three tenths, and the tenth that was typed, all rectangular.
    limit, digit = 0.008 * 8.1 + 0.3, 0.1 / 2.0
    expected = math.hypot(limit, digit) / math.sqrt(3.0)
    assert results[0].measure.standard_uncertainty == pytest.approx(expected, rel=1e-6)


def test_a_meter_that_is_named_goes_before_what_it_reads(scene: Scene) -> None:
    bridge = replace(OHMMETER, id="bridge")
    bench = replace(scene.bench, meters=(*scene.bench.meters, OHMMETER, bridge))
    named_ask = {**RESISTANCE["readings"][0], "meter": "bridge"}
    step = msgspec.convert({**RESISTANCE, "readings": [named_ask]}, ReadingsFields)
    (prompt,) = Workings([step], KINDS, Scene(scene.unit, bench)).prompts
    assert prompt.meter == "bridge"


def test_without_an_ohmmeter_the_card_says_that_only_the_last_digit_is_known(
    scene: Scene,
) -> None:
    step = msgspec.convert(RESISTANCE, ReadingsFields)
    (prompt,) = Workings([step], KINDS, scene).prompts
    assert prompt.meter == prompt.expected.meter == ""
    assert "last digit" in prompt.meter_hint
    results = results_of(scene, [step], {prompt.key: "8.1"})
    assert results[0].measure.standard_uncertainty == pytest.approx(0.05 / math.sqrt(3.0))
    assert results[0].measure.is_least


@pytest.mark.parametrize(
    ("unit", "says"), [("s", "by hand"), ("mA", "last digit"), ("V", "last digit")]
)
def test_the_card_says_where_no_instrument_stands_behind_a_reading(
    scene: Scene, unit: str, says: str
) -> None:
    ask = {"name": "x", "ask": "X", "unit": unit}
    step = msgspec.convert({"id": "r", "title": "R", "readings": [ask]}, ReadingsFields)
    (prompt,) = Workings([step], KINDS, scene).prompts
    assert says in prompt.meter_hint


BARE = {
    "id": "r",
    "title": "R",
    "readings": [
        {"name": "drawn", "ask": "X", "unit": "mA", "limit": {"max": "60 mA"}},
        {"name": "rail", "ask": "R", "unit": "V", "meter": "dc"},
        {"name": "across", "ask": "A", "unit": "mA", "meter": "dc", "resistor": "5 %"},
    ],
    "derive": [
        {"name": "power", "unit": "W", "from": "rail * drawn", "limit": {"max": "3 W"}},
        {"name": "other", "unit": "W", "from": "rail * across", "limit": {"max": "3 W"}},
    ],
}


def test_a_verdict_without_an_instrument_says_what_it_rests_on(scene: Scene) -> None:
    step = msgspec.convert(BARE, ReadingsFields)
    typed = {"r///drawn": "59.9", "r///rail": "40.00", "r///across": "59.9"}
    found = {each.name: each for each in results_of(scene, [step], typed)}
    for name in ("drawn", "power"):
        judgement = found[name].judgement
        assert judgement.verdict is Verdict.IN_SPEC
        assert judgement.probability is None
        assert "last digit" in found[name].trust
    assert found["other"].judgement.probability is not None
    assert found["other"].trust == ""
    # 5 % of the resistor, 0.5 % and two tenths of the meter, half a tenth typed: all limits.
    limits = math.hypot(0.05 * 59.9, 0.005 * 59.9 + 0.2, 0.05)
    across = found["across"].measure.standard_uncertainty
    assert across == pytest.approx(limits * 1e-3 / math.sqrt(3.0))


def test_a_resistor_stands_only_where_a_current_is_read_across_it() -> None:
    wrong = {**BARE["readings"][1], "resistor": "5 %"}
    step = msgspec.convert({**BARE, "readings": [wrong], "derive": []}, ReadingsFields)
    checker = Checker(starting_names())
    KINDS["readings"].check(step, checker)
    assert [each.what for each in checker.problems] == [
        "a resistor stands where a current is read across it with a meter"
    ]
