"""Heat: loss against integration, the extrapolation against an exponential."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from stepwise.science import (
    dissipation_class_b,
    efficiency_class_b_percent,
    exponential_approach,
    final_temperature_three_points,
    load_power,
    rms_from_peak,
    supply_power_class_b,
    time_constant_three_points,
    time_to_reach,
    worst_dissipation,
)


def test_loss_is_the_integral_of_device_voltage_times_current() -> None:
    def device(angle: float) -> float:
        out = 28.0 * math.sin(angle)
        return (35.0 - out) * out / 8.0

    half, _ = quad(device, 0.0, math.pi)
    assert dissipation_class_b(35.0, 28.0, 8.0) == pytest.approx(half / math.pi)


def test_idle_current_adds_its_loss_in_both_rails() -> None:
    extra = dissipation_class_b(35.0, 0.0, 8.0, 0.05)

    assert extra == pytest.approx(2 * 35.0 * 0.05)


def test_the_worst_loss_is_the_largest_at_any_level() -> None:
    worst = minimize_scalar(
        lambda peak: -dissipation_class_b(35.0, peak, 4.0), bounds=(0.0, 35.0), method="bounded"
    )

    assert worst_dissipation(35.0, 4.0) == pytest.approx(-worst.fun)
    assert worst.x == pytest.approx(2.0 * 35.0 / math.pi, rel=1e-4)


@given(st.floats(10.0, 80.0), st.floats(0.05, 1.0), st.floats(2.0, 16.0), st.floats(0.0, 0.5))
def test_what_is_taken_is_given_or_lost(
    rail: float, share: float, load: float, idle: float
) -> None:
    peak = rail * share
    taken = supply_power_class_b(rail, peak, load, idle)
    given_out = load_power(rms_from_peak(peak), load)

    assert taken == pytest.approx(given_out + dissipation_class_b(rail, peak, load, idle))
    efficiency = efficiency_class_b_percent(rail, peak, load, idle)
    assert efficiency == pytest.approx(100.0 * given_out / taken)
    assert efficiency_class_b_percent(rail, peak) == pytest.approx(25.0 * math.pi * share)
    assert worst_dissipation(rail, load, idle) >= dissipation_class_b(rail, peak, load, idle) - 1e-9


@given(st.floats(15.0, 30.0), st.floats(5.0, 80.0), st.floats(0.2, 3.0))
def test_three_points_of_an_exponential_give_its_end(start, rise, steps) -> None:
    tau, interval = 300.0, 300.0 * steps
    t0, t1, t2 = exponential_approach(
        np.array([0.0, interval, 2 * interval]), start, start + rise, tau
    )

    assert final_temperature_three_points(t0, t1, t2) == pytest.approx(start + rise, rel=1e-6)
    assert time_constant_three_points(t0, t1, t2, interval) == pytest.approx(tau, rel=1e-6)


def test_cooling_converges_as_well() -> None:
    assert final_temperature_three_points(60.0, 40.0, 30.0) == pytest.approx(20.0)


@pytest.mark.parametrize(
    "readings", [(30, 40, 50), (30, 40, 55), (30, 40, 38), (30, 30, 35), (30, 40, 40)]
)
def test_readings_that_do_not_converge_are_refused(readings: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="do not converge"):
        final_temperature_three_points(*readings)
    with pytest.raises(ValueError, match="do not converge"):
        time_constant_three_points(*readings, 60.0)


@given(st.floats(1.0, 1500.0))
def test_time_to_reach_is_inverse_to_the_approach(t: float) -> None:
    temperature = exponential_approach(t, 22.0, 58.0, 300.0)

    assert time_to_reach(temperature, 22.0, 58.0, 300.0) == pytest.approx(t, rel=1e-6)


def test_a_temperature_beyond_the_end_is_never_reached() -> None:
    assert time_to_reach(60.0, 22.0, 58.0, 300.0) is None
    assert time_to_reach(58.0, 22.0, 58.0, 300.0) is None
    assert time_to_reach(20.0, 22.0, 58.0, 300.0) is None
    assert time_to_reach(25.0, 22.0, 22.0, 300.0) is None
    assert time_to_reach(22.0, 22.0, 58.0, 300.0) == 0.0
