"""Repeated readings, comparison of channels, stated levels, and what is said of wrong formulas."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from stepwise.judge import LimitFields, Verdict
from stepwise.quantities import COVERAGE_PROBABILITY
from stepwise.run.progress import work_out_progress
from stepwise.steps import KINDS, Checker, ReadingsFields, Scene, Workings, starting_names
from stepwise.steps.reading_fields import DeriveAsk, ReadingAsk
from tests.steps.conftest import Work, named


def level(times: int = 3, **more: object) -> ReadingsFields:
    ask = ReadingAsk(name="level", ask="Level", unit="V", times=times, **more)  # type: ignore[arg-type]
    return ReadingsFields(id="r", title="R", readings=(ask,))


def looks(*texts: str) -> dict[str, str]:
    points = ["level", *(f"level/{place}" for place in range(2, len(texts) + 1))]
    return {f"r///{point}": text for point, text in zip(points, texts, strict=True)}


# JCGM 100:2008, H.2: five voltages, mean 4.9990 V, standard deviation of the mean 0.0032 V.
GUM_H2 = ("5.007", "4.994", "5.005", "4.990", "4.999")


def test_five_voltages_of_gum_h2(work: Work) -> None:
    mean = named(work([level(5)], looks(*GUM_H2)), "level").measure
    assert mean.value == pytest.approx(4.9990, abs=5e-5)
    assert mean.standard_uncertainty == pytest.approx(0.0032, abs=5e-5)
    # Four degrees of freedom, and nothing else: Student's t for them.
    expected = float(stats.t.ppf(0.5 + COVERAGE_PROBABILITY / 2.0, 4))
    assert mean.coverage_factor == pytest.approx(expected, rel=1e-9)


def test_a_shared_error_of_the_scale_does_not_average_out(work: Work) -> None:
    single = named(work([level(1, meter="ac")], {"r///level": "2.00"}), "level").measure
    mean = named(work([level(3, meter="ac")], looks("2.00", "2.00", "2.00")), "level").measure
    scale = "ac 3 range"
    assert mean.terms[scale] == pytest.approx(single.terms[scale])
    assert mean.standard_uncertainty == pytest.approx(single.standard_uncertainty)


def test_readings_that_agree_are_as_good_as_their_rounding(work: Work) -> None:
    mean = named(work([level()], looks("2.00", "2.00", "2.00")), "level").measure
    assert mean.standard_uncertainty == pytest.approx(0.01 / math.sqrt(12.0))


@pytest.mark.parametrize("texts", [("2.00", "2.00", "2.00"), ("2.00", "2.10", "2.05")])
def test_repeats_do_not_stand_in_for_an_instrument(work: Work, texts: tuple[str, ...]) -> None:
    assert named(work([level()], looks(*texts)), "level").measure.is_least
    assert not named(work([level(meter="ac")], looks(*texts)), "level").measure.is_least


def test_few_readings_widen_the_interval_more_than_many(work: Work) -> None:
    two = named(work([level(2)], looks("2.00", "2.10")), "level").measure
    assert two.coverage_factor == pytest.approx(float(stats.t.ppf(0.97725, 1)), rel=1e-3)


def test_each_look_is_kept_and_the_mean_is_judged(work: Work) -> None:
    limited = level(limit=LimitFields(max="2.05 V"))
    results = work([limited], looks("2.00", "2.10", "2.60"))
    assert [each.value for each in results if each.name == "level_look"] == [2.0, 2.1, 2.6]
    mean = named(results, "level")
    assert mean.basis == ("r///level", "r///level/2", "r///level/3")
    assert mean.judgement.verdict is not Verdict.IN_SPEC
    assert mean.label == "Level, mean of 3"


def test_a_hold_waits_for_the_mean_of_all_looks(work: Work, scene: Scene) -> None:
    limited = level(2, limit=LimitFields(max="2.5 V"), hold=True)
    after = ReadingsFields(
        id="after", title="A", readings=(ReadingAsk(name="x", ask="X", unit="V"),)
    )
    workings = Workings([limited, after], KINDS, scene)
    assert [p.ask for p in workings.prompts][:2] == ["Level, 1 of 2", "Level, 2 of 2"]
    for texts, closed in (
        (("2.0",), {"after"}),
        (("9.0", "9.1"), {"after"}),
        (("2.0", "2.0"), set()),
    ):
        answers = typed_answers(workings, looks(*texts))
        results = workings.results(answers)
        standing = work_out_progress([limited, after], workings.prompts, answers, results)
        assert set(standing.closed_steps) == closed, texts


def typed_answers(workings: Workings, typed: dict[str, str]):  # type: ignore[no-untyped-def]
    from stepwise.journal import Recorded
    from stepwise.quantities import parse_entry
    from stepwise.steps import recorded_form

    answers = {}
    for prompt in workings.prompts:
        if prompt.key in typed:
            entry = parse_entry(typed[prompt.key], prompt.expected)
            data = recorded_form(entry)  # type: ignore[arg-type]
            seq = len(answers) + 1
            answers[prompt.key] = Recorded(seq, "", prompt.key, typed[prompt.key], "reading", data)
    return answers


GAIN = ReadingsFields(
    id="g",
    title="Gain",
    repeat=("channel",),
    readings=(
        ReadingAsk(name="input_level", ask="In", unit="mV"),
        ReadingAsk(name="level_open", ask="Out", unit="V", balance=True),
        ReadingAsk(name="undriven_level", ask="Other channel", unit="mV"),
    ),
    derive=(
        DeriveAsk(name="reference_level", unit="V", formula="2.83 V"),
        DeriveAsk(
            name="gain",
            unit="dB",
            formula="20 * log10(level_open / input_level)",
            label="Gain",
            balance=LimitFields(target="0 dB", within="0.2 dB"),
        ),
        DeriveAsk(name="crosstalk", unit="dB", formula="20 * log10(undriven_level / level_open)"),
        DeriveAsk(
            name="below_one_watt", unit="dB", formula="20 * log10(undriven_level / reference_level)"
        ),
    ),
)


def test_gain_balance_and_crosstalk(work: Work) -> None:
    results = work(
        [GAIN],
        {
            "g/left//input_level": "775",
            "g/left//level_open": "20.0",
            "g/left//undriven_level": "6.3",
            "g/right//input_level": "775",
            "g/right//level_open": "19.4",
        },
    )
    # Published: 20 V out of 0.775 V is 28.2346 dB; 6.3 mV beside 20 V are -70.0338 dB; 20 V
    # against 19.4 V are 0.264565 dB.
    assert named(results, "gain", channel="left").value == pytest.approx(28.2346, abs=5e-5)
    assert named(results, "crosstalk").value == pytest.approx(-70.0338, abs=5e-5)
    balance = named(results, "gain_balance")
    assert (balance.channel, balance.label) == ("right", "Gain against left")
    assert balance.value == pytest.approx(-0.264565, abs=5e-6)
    assert balance.judgement.verdict is Verdict.OUT_OF_SPEC
    assert named(results, "level_open_balance").value == pytest.approx(-0.264565, abs=5e-6)
    # 20 lg (6.3 mV / 2.83 V), from the definition of the decibel.
    assert named(results, "below_one_watt").value == pytest.approx(-53.0489, abs=5e-4)


@pytest.mark.parametrize(
    ("derive", "what", "remedy"),
    [
        (
            DeriveAsk(name="a", unit="V", formula="level_opn * 2"),
            "nothing is called “level_opn”",
            "did you mean “level_open”?",
        ),
        (
            DeriveAsk(name="a", unit="W", formula="level_open * 2"),
            "“level_open * 2” is V (voltage)",
            "it should be W (power)",
        ),
        (
            DeriveAsk(name="a", unit="V", formula="2 W"),
            "“2 W” is in W",
            "state it in V",
        ),
        (
            DeriveAsk(name="a", unit="W", formula="2 W", balance=True),
            "channels are not compared in W",
            "in V or dB only",
        ),
    ],
)
def test_a_wrong_formula_is_told_in_a_sentence(derive: DeriveAsk, what: str, remedy: str) -> None:
    step = ReadingsFields(
        id="x",
        title="X",
        readings=(ReadingAsk(name="level_open", ask="L", unit="V"),),
        derive=(derive,),
    )
    checker = Checker(starting_names())
    KINDS["readings"].check(step, checker)
    assert [(problem.what, problem.remedy) for problem in checker.problems] == [(what, remedy)]
