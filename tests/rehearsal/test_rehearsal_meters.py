"""Instruments against the uncertainty that they are credited with, over many benches."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from stepwise.bench import measure
from stepwise.procedure import read_bench_text
from stepwise.quantities import Answer, Expected, Form, Understood, parse_entry
from stepwise.rehearsal import BENCH_FILE, bench_text
from stepwise.rehearsal.chance import Chance
from stepwise.rehearsal.meters import Instruments
from stepwise.rehearsal.written import Shown

BENCH = read_bench_text(bench_text(), BENCH_FILE)
SEEDS = range(600)
AC, DC, SCOPE, HEAT = (BENCH.meter(name) for name in ("ac", "dc", "scope", "thermometer"))
RANGES = AC.ranges if AC else ()
VOLTS_AC = Expected(Answer.QUANTITY, "V", Form.RMS, "AC voltmeter", RANGES)
VOLTS_DC = Expected(Answer.QUANTITY, "V", Form.DC)
MILLIVOLTS_DC = Expected(Answer.QUANTITY, "mV", Form.DC)
MILLIVOLTS_AC = Expected(Answer.QUANTITY, "mV", Form.RMS, "AC voltmeter", RANGES)
LEVEL = Expected(Answer.LEVEL, "dB", meter="AC voltmeter", ranges=RANGES)
SHARE = Expected(Answer.SHARE, "%")
MICROSECONDS = Expected(Answer.QUANTITY, "us")
MILLIAMPERES = Expected(Answer.QUANTITY, "mA")
SECONDS = Expected(Answer.QUANTITY, "s")
CELSIUS = Expected(Answer.HEAT, "C")

Look = Callable[[Instruments], Shown]


def read(shown: Shown, expected: Expected) -> Understood:
    understood = parse_entry(shown.typed, expected)
    assert isinstance(understood, Understood), understood
    return understood


CASES = [
    pytest.param(20.3, AC, VOLTS_AC, id="pointer x10"),
    pytest.param(6.27, AC, VOLTS_AC, id="pointer"),
    pytest.param(0.1077, AC, VOLTS_AC, id="pointer, low range"),
    pytest.param(0.41e-3, AC, MILLIVOLTS_AC, id="pointer, millivolts"),
    pytest.param(0.7, AC, MILLIVOLTS_AC, id="pointer, volts where millivolts are asked"),
    pytest.param(33.94, DC, VOLTS_DC, id="digits"),
    pytest.param(-33.94, DC, VOLTS_DC, id="digits, negative"),
    pytest.param(-7.31e-3, DC, MILLIVOLTS_DC, id="digits, millivolts"),
    pytest.param(20.3, SCOPE, VOLTS_AC, id="divisions, RMS"),
    pytest.param(-31.2, SCOPE, VOLTS_DC, id="divisions, DC"),
    pytest.param(47.3, HEAT, CELSIUS, id="thermometer"),
    pytest.param(52.4e-3, DC, MILLIAMPERES, id="current across a resistor"),
    pytest.param(1.73, None, SECONDS, id="time by hand"),
]


@pytest.mark.parametrize(("value", "meter", "expected"), CASES)
def test_errors_are_within_limits_and_have_no_bias(value, meter, expected) -> None:
    scores = []
    for seed in SEEDS:
        instruments = Instruments(BENCH, Chance(seed))
        if expected.answer is Answer.HEAT:
            shown = instruments.temperature(value, meter, "here 0")
        else:
            shown = instruments.quantity(value, meter, expected, "here 0")
        reading = measure(read(shown, expected), meter, BENCH, "here")
        scores.append((reading.value - value) / reading.standard_uncertainty)
    # Two rectangular parts at most: their limits add to no more than sqrt(3) (1 + 1) sigma.
    assert max(abs(np.array(scores))) <= math.sqrt(6.0) * 1.02
    assert abs(np.mean(scores)) < 0.15
    assert 0.6 < np.std(scores) < 1.15


def test_what_takes_no_time_is_not_timed() -> None:
    assert Instruments(BENCH, Chance(1)).quantity(0.0, None, SECONDS, "here 0").typed == "0"


@pytest.mark.parametrize("level_db", [-0.3, -4.4, 0.6, -9.2])
def test_levels_are_within_limits(level_db: float) -> None:
    scores = []
    for seed in SEEDS:
        shown = Instruments(BENCH, Chance(seed)).level(level_db, AC, "sweep/left//reference")
        reading = measure(read(shown, LEVEL), AC, BENCH, "sweep/left//20 Hz")
        scores.append((reading.value - level_db) / reading.standard_uncertainty)
    assert max(abs(np.array(scores))) <= 3.0
    # The decibel step is coarse, so what is left of one level's rounding does not average out.
    assert abs(np.mean(scores)) < 1.3


def test_rounding_of_levels_averages_out_over_levels() -> None:
    errors = []
    for seed, level_db in enumerate(np.linspace(-8.0, 1.0, 500)):
        shown = Instruments(BENCH, Chance(seed)).level(float(level_db), AC, "reference")
        errors.append(read(shown, LEVEL).value - level_db)
    assert abs(np.mean(errors)) < 0.03


@pytest.mark.parametrize("ratio", [0.03, 0.16, 0.4])
def test_shares_are_within_a_division_step(ratio: float) -> None:
    for seed in SEEDS:
        shown = Instruments(BENCH, Chance(seed)).share(ratio, "square 0")
        assert abs(read(shown, SHARE).value / 100.0 - ratio) <= 0.1 / 5.0 + 1e-9


def test_nothing_to_see_is_written_so() -> None:
    assert Instruments(BENCH, Chance(1)).share(0.0, "square 0").typed == "none"


def test_times_come_off_the_graticule() -> None:
    for seed in SEEDS:
        shown = Instruments(BENCH, Chance(seed)).duration(4.83e-6, "square 0")
        understood = read(shown, MICROSECONDS)
        assert understood.divisions is not None
        assert understood.value == pytest.approx(4.83e-6, rel=0.03 + 0.1 / 4.8 + 1e-9)


def test_one_range_is_off_by_one_amount() -> None:
    instruments = Instruments(BENCH, Chance(5))
    step = 10.0 / 120.0
    offs = [
        read(instruments.quantity(volts, AC, VOLTS_AC, "x"), VOLTS_AC).value - volts
        for volts in (3.6, 5.0, 6.0, 7.5, 9.0)
    ]
    assert max(offs) - min(offs) <= step + 0.011


@pytest.mark.parametrize(
    ("volts", "ending"),
    [(20.0, "on 3 x10"), (7.0, "on 10"), (2.0, "on 3"), (0.2, "on 300 mV"), (150.0, "x100")],
)
def test_the_way_a_pointer_is_written(volts: float, ending: str) -> None:
    shown = Instruments(BENCH, Chance(3)).quantity(volts, AC, VOLTS_AC, "x")
    assert shown.typed.endswith(ending)
    assert "pointer at" in shown.display


@pytest.mark.parametrize(
    ("celsius", "words"),
    [(15.0, {"cold"}), (38.0, {"warm"}), (52.0, {"hot"}), (80.0, {"too hot to hold"})],
)
def test_the_finger_has_words(celsius: float, words: set[str]) -> None:
    shown = Instruments(BENCH, Chance(2)).temperature(celsius, None, "heat 0")
    assert shown.typed in words
    assert read(shown, CELSIUS).interval is not None


def test_chance_depends_on_seed_and_name_alone() -> None:
    first, second = Chance(4), Chance(4)
    second.uniform("something else")
    assert first.uniform("a") == second.uniform("a")
    assert first.uniform("a") != first.uniform("b")
    assert Chance(5).uniform("a") != first.uniform("a")
    assert Chance(-4).uniform("a") != first.uniform("a")


def test_draws_fill_their_range_evenly() -> None:
    draws = np.array([Chance(seed).uniform("x") for seed in range(2000)])
    assert abs(draws.mean()) < 0.05
    assert draws.std() == pytest.approx(1.0 / math.sqrt(3.0), rel=0.05)
    assert draws.min() >= -1.0
    assert draws.max() <= 1.0
