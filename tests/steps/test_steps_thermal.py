"""Timed temperatures: where they end, when, how surely, and what the cooling is worth."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import msgspec
import pytest
from scipy.optimize import curve_fit

from stepwise.bench import Meter, MeterType, parse_accuracy
from stepwise.journal import Recorded
from stepwise.judge import LimitFields, Result
from stepwise.procedure import procedures_folder, read_procedure
from stepwise.quantities import Form, Understood, parse_entry
from stepwise.science import dissipation_class_b
from stepwise.steps import (
    KINDS,
    Checker,
    ReadingsFields,
    Scene,
    ThermalFields,
    Workings,
    recorded_form,
    starting_names,
)
from stepwise.steps.reading_fields import DeriveAsk, ReadingAsk
from stepwise.steps.thermal import ThermalLimits
from stepwise.steps.thermal_end import _LOSS_DOUBT
from tests.steps.conftest import named, results_of

THERMOMETER = Meter(
    "thermometer", MeterType.DIGITAL, parse_accuracy("1.5 C"), "C", Form.PLAIN, name="thermometer"
)
SOAK = ThermalFields(
    id="soak",
    title="Soak",
    places=("heatsink",),
    at=("5 min", "10 min", "15 min"),
    meter="thermometer",
    limits=ThermalLimits(temperature=LimitFields(max="56 C")),
)
PUBLISHED = ("37.3449", "46.1491", "51.2005")
"""5, 10 and 15 minutes on the way from 22 to 58 degrees with a time constant of 9 minutes."""


@pytest.fixture
def scene(scene: Scene) -> Scene:
    bench = replace(scene.bench, meters=(*scene.bench.meters, THERMOMETER))
    return Scene(scene.unit, bench)


def typed_at(step: ThermalFields, texts: tuple[str, ...]) -> dict[str, str]:
    keys = [f"{step.id}///heatsink at {time}" for time in step.at]
    return dict(zip(keys, texts, strict=False))


def test_the_end_of_a_published_approach(scene: Scene) -> None:
    results = results_of(scene, [SOAK], typed_at(SOAK, PUBLISHED))
    # Published three-point extrapolation: 58.0000 degrees, time constant 1.80000 intervals.
    assert named(results, "final_temperature").value == pytest.approx(58.0, abs=1e-3)
    assert named(results, "time_constant").value == pytest.approx(540.0, rel=1e-4)
    # 9 min * ln(36 / 2): the inverse of the approach, from the start of the heating.
    until = named(results, "time_to_limit")
    assert until.value == pytest.approx(540.0 * math.log(36.0 / 2.0), rel=1e-3)
    assert until.measure.standard_uncertainty > 60.0


def test_what_all_readings_share_shifts_the_end_and_no_more(scene: Scene) -> None:
    results = results_of(scene, [SOAK], typed_at(SOAK, PUBLISHED))
    end = named(results, "final_temperature").measure
    shared = next(term for source, term in end.terms.items() if "decade" in source)
    assert shared == pytest.approx(1.5 / math.sqrt(3.0), rel=1e-6)
    tau = named(results, "time_constant").measure
    assert not [t for s, t in tau.terms.items() if "decade" in s and abs(t) > 1e-6 * tau.value]


def test_the_reading_error_reaches_the_end_as_published(scene: Scene) -> None:
    # Published: 0.5 K on each reading becomes 4.28565 K at the end of this approach.
    results = results_of(scene, [SOAK], typed_at(SOAK, ("37.3449", "46.1491", "51.2005")))
    end = named(results, "final_temperature").measure
    fed = [end.terms[source] for source in end.terms if source.endswith(" digits")]
    step = 1e-4 / math.sqrt(12.0)
    assert math.hypot(*fed) * 0.5 / step == pytest.approx(4.28565, rel=1e-4)


def test_four_uneven_times_agree_with_scipy(scene: Scene) -> None:
    step = ThermalFields(
        id="soak", title="S", places=("heatsink",), at=("5 min", "10 min", "20 min", "30 min")
    )
    seconds, celsius = [300.0, 600.0, 1200.0, 1800.0], [37.0, 46.5, 54.0, 56.5]

    def approach(t, start, final, tau):  # type: ignore[no-untyped-def]
        from numpy import exp

        return final - (final - start) * exp(-t / tau)

    from numpy import array

    found, _ = curve_fit(approach, array(seconds), array(celsius), p0=(22.0, 58.0, 500.0))
    results = results_of(scene, [step], typed_at(step, tuple(f"{c:.1f}" for c in celsius)))
    assert named(results, "final_temperature").value == pytest.approx(float(found[1]), rel=1e-6)
    assert named(results, "time_constant").value == pytest.approx(float(found[2]), rel=1e-5)


def test_two_readings_or_a_straight_line_have_no_end(scene: Scene) -> None:
    for texts in (("30.0", "40.0"), ("30.0", "40.0", "50.0"), ("30.0", "36.0", "46.0")):
        results = results_of(scene, [SOAK], typed_at(SOAK, texts))
        assert {result.name for result in results} == {"temperature"}


@pytest.mark.parametrize(
    ("texts", "word"),
    [
        (("30.0", "36.0", "40.9"), "(a guess)"),
        (("40.0", "50.0", "54.0"), "(rough)"),
        (("40.0", "56.0", "58.5"), "heatsink"),
    ],
)
def test_how_far_to_trust_it_is_said(scene: Scene, texts: tuple[str, ...], word: str) -> None:
    end = named(results_of(scene, [SOAK], typed_at(SOAK, texts)), "final_temperature")
    assert end.label.endswith(word)
    assert "time constants" in end.remark


def test_readings_that_lie_on_no_curve_are_doubtful(scene: Scene) -> None:
    step = replace_times(SOAK, ("5 min", "10 min", "15 min", "20 min", "25 min"))
    texts = ("37.3", "46.1", "44.0", "54.1", "55.8")
    end = named(results_of(scene, [step], typed_at(step, texts)), "final_temperature")
    assert end.label.endswith("(doubtful)")
    assert "do not lie on one approach" in end.remark


def test_the_finger_is_heard_and_the_limit_never_reached_is_silent(scene: Scene) -> None:
    cool = ThermalFields(
        id="soak",
        title="Soak",
        places=("heatsink",),
        at=SOAK.at,
        limits=ThermalLimits(temperature=LimitFields(max="80 C")),
    )
    results = results_of(scene, [cool], typed_at(cool, ("warm", "46.1", "51.2")))
    assert [r.name for r in results].count("temperature") == 3
    assert "time_to_limit" not in {result.name for result in results}


ROOM = ReadingsFields(
    id="room",
    title="Room",
    readings=(ReadingAsk(name="ambient", ask="Air", unit="C", meter="thermometer"),),
)
LOSS = ReadingsFields(
    id="loss",
    title="Loss",
    repeat=("channel",),
    readings=(ReadingAsk(name="loss_watts", ask="Loss", unit="W"),),
    derive=(DeriveAsk(name="heat", unit="W", formula="loss_watts * 1"),),
)


def test_rise_and_loss_of_all_channels_make_a_thermal_resistance(scene: Scene) -> None:
    step = ThermalFields(
        id="soak", title="S", places=("heatsink",), at=SOAK.at, meter="thermometer",
        ambient="ambient", heated_by="heat",
    )  # fmt: skip
    typed = {"room///ambient": "22.0", "loss/left//loss_watts": "7", "loss/right//loss_watts": "5"}
    results = results_of(scene, [ROOM, LOSS, step], typed | typed_at(step, PUBLISHED))
    made = named(results, "thermal_resistance")
    assert made.value == pytest.approx((58.0 - 22.0) / 12.0, rel=1e-4)
    # The thermometer's own error is in both temperatures and drops out of the rise.
    assert not [t for s, t in made.measure.terms.items() if "decade" in s and abs(t) > 1e-6]


@pytest.mark.parametrize(
    ("ratings", "rail", "loss"),
    [
        # 2 Us Up / (pi R), the textbook's class B: 22.508 W are taken, 12.5 W reach the load.
        ({}, "20 V", 10.0079),
        # One rail and a capacitor: half sines of mean 1.76777 / pi A from 40 V, 22.508 W too.
        ({"output_capacitor": 2.2e-3}, "40 V", 10.0079),
    ],
)
def test_the_loss_of_the_shipped_soak_knows_a_single_rail(
    scene: Scene, ratings: dict[str, float], rail: str, loss: float
) -> None:
    path = procedures_folder() / "thermal-soak.toml"
    asks = {step.id: step for step in read_procedure(path).steps}
    unit = replace(scene.unit, channels=("left",), ratings={**scene.unit.ratings, **ratings})
    typed = {"cold/left//rail_plus": rail, "soak-level/left//soak_level": "10 V"}
    steps = [asks["cold"], asks["soak-level"]]
    results = results_of(Scene(unit, scene.bench), steps, typed)
    found = named(results, "soak_loss")
    assert found.value == pytest.approx(loss, rel=1e-5)
    assert found.label.endswith("without idle current")


def test_what_idle_current_adds_to_the_loss_of_a_soak_is_within_its_doubt() -> None:
    # an eighth of 50 W from 28 V, 50 mA of idle current; either device by i1 i2 = Iq^2
    rail, peak, load, idle = 28.0, 10.0, 8.0, 0.05
    drawn = [peak / load * math.sin(2.0 * math.pi * (n + 0.5) / 4096) for n in range(4096)]
    upper = math.fsum(0.5 * (i + math.hypot(i, 2.0 * idle)) for i in drawn) / len(drawn)
    loss = dissipation_class_b(rail, peak, load)

    added = 2.0 * rail * upper - peak**2 / (2.0 * load) - loss
    assert 0.01 < added / loss < _LOSS_DOUBT / math.sqrt(3.0)
    in_full = dissipation_class_b(rail, peak, load, idle) - loss
    assert in_full / loss > 3.0 * _LOSS_DOUBT


def test_two_soaks_do_not_share_the_looks_at_the_clock(scene: Scene) -> None:
    again = msgspec.structs.replace(SOAK, id="again")
    typed = typed_at(SOAK, PUBLISHED) | typed_at(again, PUBLISHED)
    ends = [r for r in results_of(scene, [SOAK, again], typed) if r.name == "final_temperature"]
    clocks = [{source for source in end.measure.terms if "clock" in source} for end in ends]
    assert [len(each) for each in clocks] == [3, 3]
    assert clocks[0].isdisjoint(clocks[1])


def test_names_of_air_and_heat_are_checked_with_the_nearest() -> None:
    step = ThermalFields(
        id="soak", title="S", places=("heatsink",), ambient="ambiant", heated_by="ambient"
    )
    checker = Checker(starting_names() | {"ambient": "C"})
    KINDS["thermal"].check(step, checker)
    assert [(p.path, p.what, p.remedy) for p in checker.problems] == [
        (("ambient",), "nothing is called “ambiant”", "did you mean “ambient”?"),
        (("heated_by",), "“ambient” is in C", "name something in W"),
    ]


def replace_times(step: ThermalFields, times: tuple[str, ...]) -> ThermalFields:
    return ThermalFields(
        id=step.id, title=step.title, places=step.places, at=times, meter=step.meter
    )


def answered(
    scene: Scene, minutes: Mapping[str, float], order: Mapping[str, int] | None = None
) -> tuple[Result, ...]:
    """The published approach, each reading with a time of answering of its own."""
    workings = Workings([SOAK], KINDS, scene)
    began = datetime(2026, 3, 14, 10, 0, tzinfo=UTC)
    answers = {}
    for number, (prompt, text) in enumerate(zip(workings.prompts, PUBLISHED, strict=True), 1):
        entry = parse_entry(text, prompt.expected)
        assert isinstance(entry, Understood)
        at = (began + timedelta(minutes=minutes[text])).isoformat()
        seq = number if order is None else order[text]
        answers[prompt.key] = Recorded(
            seq, at, prompt.key, text, "reading", {"typed": text, **recorded_form(entry)}
        )
    return workings.results(answers)


def test_times_of_answering_count_where_they_kept_pace(scene: Scene) -> None:
    late = dict(zip(PUBLISHED, (5.0, 12.0, 19.0), strict=True))
    # Equal intervals of seven minutes: the same end, and the time constant in proportion.
    results = answered(scene, late)
    assert named(results, "final_temperature").value == pytest.approx(58.0, abs=1e-3)
    assert named(results, "time_constant").value == pytest.approx(1.8 * 420.0, rel=1e-4)


def test_times_of_a_log_entered_afterwards_do_not(scene: Scene) -> None:
    at_once = dict(zip(PUBLISHED, (0.1, 0.2, 0.3), strict=True))
    assert named(answered(scene, at_once), "time_constant").value == pytest.approx(540.0, rel=1e-4)


def test_the_time_of_a_late_correction_does_not(scene: Scene) -> None:
    minutes = dict(zip(PUBLISHED, (5.0, 12.0, 19.0), strict=True))
    order = dict(zip(PUBLISHED, (1, 9, 3), strict=True))
    made = answered(scene, minutes, order)
    assert named(made, "time_constant").value == pytest.approx(540.0, rel=1e-4)
