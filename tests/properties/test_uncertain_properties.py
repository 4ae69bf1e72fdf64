"""What holds for every value with uncertainty."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import uncertain_values

from stepwise.quantities import correlation, covariance, propagate

modest = settings(max_examples=200, deadline=None, derandomize=True)


@modest
@given(uncertain_values(), uncertain_values())
def test_the_variance_of_a_sum_has_twice_the_covariance(first, second):
    total = propagate(lambda one, other: one + other, first, second)
    expected = (
        first.standard_uncertainty**2
        + second.standard_uncertainty**2
        + 2.0 * covariance(first, second)
    )
    assert total.standard_uncertainty**2 == pytest.approx(expected, rel=1e-6, abs=1e-9)


@modest
@given(uncertain_values())
def test_a_value_less_itself_is_certain(value):
    difference = propagate(lambda one, other: one - other, value, value)
    assert difference.value == 0.0
    assert difference.standard_uncertainty == pytest.approx(0.0, abs=1e-9)


@modest
@given(uncertain_values(), uncertain_values())
def test_correlation_lies_between_minus_one_and_one(first, second):
    assert -1.0 - 1e-9 <= correlation(first, second) <= 1.0 + 1e-9
    assert correlation(first, second) == pytest.approx(correlation(second, first))


@modest
@given(uncertain_values(), st.sampled_from([1e-3, 1e3]))
def test_a_change_of_unit_changes_no_share(value, factor):
    scaled = value.scaled(factor)
    share = value.standard_uncertainty / value.value
    assert scaled.standard_uncertainty / scaled.value == pytest.approx(share, rel=1e-9)
