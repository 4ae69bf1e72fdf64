"""The factor k against published figures, scipy's Student t, and drawn errors."""

from __future__ import annotations

import copy
import math
import pickle

import numpy as np
import pytest
from scipy import stats

from stepwise.quantities import (
    COVERAGE_PROBABILITY,
    Source,
    Uncertain,
    from_terms,
    propagate,
    rectangular,
    student_factor,
    within_limits,
)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 9, 10, 19, 50, 199])
def test_student_factor_agrees_with_scipy(freedom: int) -> None:
    expected = float(stats.t.ppf(0.5 + COVERAGE_PROBABILITY / 2.0, freedom))
    assert student_factor(freedom) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("freedom", "factor"), [(4, 2.86932), (9, 2.31981), (19, 2.14050)])
def test_student_factor_of_the_published_table(freedom: int, factor: float) -> None:
    # EA-4/02 table E.1, 95.45 % (from memory); erf(sqrt 2) is 95.449974 %.
    assert student_factor(freedom + 0.9) == pytest.approx(factor, abs=2e-5)


def test_normal_errors_need_two() -> None:
    assert Uncertain(1.0, {"a": 3.0, "b": 4.0}).coverage_factor == 2.0
    assert Uncertain(1.0).coverage_factor == 2.0


def test_a_rectangle_that_outweighs_all_else_needs_less() -> None:
    # EA-4/02 S9, hand-held multimeter: k = 1.65 for the rectangle alone, U = 0.05 V (from
    # memory). The second rectangle, a fifth of the first, is not left out here.
    terms = {
        "calibrator": 0.001,
        within_limits("digit"): rectangular(0.05),
        within_limits("source"): rectangular(0.011),
    }
    reading = Uncertain(100.1, terms)
    assert reading.coverage_factor == pytest.approx(1.65, abs=0.06)
    assert round(reading.expanded_uncertainty, 2) == 0.05


@pytest.mark.parametrize(
    "weights",
    [(1, 1), (1, 0.5), (1, 1, 1), (1, 0.3, 0.2), (1, 0.1), (1, 1, 0.2, 0.2), (1, 1, 1, 1, 1)],
)
def test_sums_of_rectangles_hold_the_truth_as_often_as_said(weights: tuple[float, ...]) -> None:
    rng = np.random.default_rng(5)
    drawn = rng.uniform(-1.0, 1.0, (400_000, len(weights))) @ np.array(weights)
    terms = {within_limits(str(place)): rectangular(w) for place, w in enumerate(weights)}
    inside = np.mean(np.abs(drawn) <= Uncertain(0.0, terms).expanded_uncertainty)
    assert inside == pytest.approx(COVERAGE_PROBABILITY, abs=0.01)


def test_few_readings_widen_and_many_do_not() -> None:
    # JCGM 100 H.1: degrees of freedom 18, 25.6, 50, 2 for these terms give 16.7 in all.
    terms = {
        Source("a", freedom=18.0): 25.0,
        Source("b", freedom=25.6): 9.7,
        Source("c", freedom=50.0): 2.9,
        Source("d", freedom=2.0): 16.6,
    }
    expected = float(stats.t.ppf(0.5 + COVERAGE_PROBABILITY / 2.0, 16))
    assert Uncertain(0.0, terms).coverage_factor == pytest.approx(expected, rel=1e-9)
    assert Uncertain(0.0, {"many": 10.0, Source("few", freedom=2.0): 0.1}).coverage_factor == 2.0


def test_tiny_terms_do_not_leave_the_range_of_floats() -> None:
    tiny = Uncertain(0.0, {within_limits("a"): 1e-170})
    assert tiny.coverage_factor == pytest.approx(COVERAGE_PROBABILITY * math.sqrt(3.0))
    assert Uncertain(0.0, {"a": math.inf}).coverage_factor == 2.0


def test_the_shape_goes_with_the_source_through_arithmetic() -> None:
    reading = from_terms(2.0, [(within_limits("meter"), 0.1)])
    power = propagate(lambda volts: volts * volts / 8.0, reading.scaled(10.0))
    assert power.coverage_factor == pytest.approx(COVERAGE_PROBABILITY * math.sqrt(3.0))


def test_a_source_survives_copying_and_is_its_name() -> None:
    source = Source("ac 3 V range", -1.2, 4.0)
    for twin in (copy.deepcopy(source), pickle.loads(pickle.dumps(source))):
        assert (twin, twin.excess, twin.freedom) == ("ac 3 V range", -1.2, 4.0)
    assert {source: 1.0}["ac 3 V range"] == 1.0
