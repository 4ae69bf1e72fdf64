"""Preferred values: every table entry is its own neighbour, decades repeat."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stepwise.science import (
    E_SERIES,
    exact_third_octave,
    nearest_preferred,
    nearest_third_octave,
    next_preferred_up,
    nominal_third_octave,
    third_octaves,
)

SERIES = list(E_SERIES)


@pytest.mark.parametrize("series", SERIES)
def test_a_table_has_as_many_values_as_its_name_says(series: str) -> None:
    assert len(E_SERIES[series]) == int(series[1:])
    assert list(E_SERIES[series]) == sorted(set(E_SERIES[series]))


def test_each_table_is_part_of_the_next() -> None:
    for coarse, fine in itertools.pairwise(SERIES):
        assert set(E_SERIES[coarse]) <= set(E_SERIES[fine])


@pytest.mark.parametrize("series", SERIES)
@pytest.mark.parametrize("exponent", [-12, -6, 0, 3, 6])
def test_a_preferred_value_stays_itself(series: str, exponent: int) -> None:
    for mantissa in E_SERIES[series]:
        value = float(f"{mantissa}e{exponent}")
        assert next_preferred_up(value, series) == value
        assert nearest_preferred(value, series) == value
        assert next_preferred_up(value * (1.0 + 1e-15), series) == value


@given(st.floats(1e-12, 1e9), st.sampled_from(SERIES))
def test_the_next_value_is_not_below_and_not_far(value: float, series: str) -> None:
    upper, nearest = next_preferred_up(value, series), nearest_preferred(value, series)

    assert value * (1.0 - 1e-9) <= upper <= value * 2.2 * (1.0 + 1e-9)
    assert nearest <= upper
    assert abs(math.log(nearest / value)) <= abs(math.log(upper / value)) + 1e-12


def test_an_unknown_series_is_named_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="E3, E6, E12, E24"):
        next_preferred_up(10.0, "E7")  # type: ignore[arg-type]


def test_there_are_forty_one_third_octaves_from_ten_hertz_to_a_hundred_kilohertz() -> None:
    every = third_octaves()

    assert len(every) == 41
    assert every[0] == 10.0
    assert every[-1] == 100e3
    assert 31.5 in every
    assert 3150.0 in every


@given(st.integers(-20, 20))
def test_nominal_and_exact_name_the_same_band(band: int) -> None:
    nominal, exact = nominal_third_octave(band), exact_third_octave(band)

    assert nominal == pytest.approx(exact, rel=0.01)
    assert nearest_third_octave(nominal) == nearest_third_octave(exact) == band
