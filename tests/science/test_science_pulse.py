"""Square waves and resonances: formulas against simulated steps."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from stepwise.science import (
    corner_from_rise_time,
    corner_from_tilt,
    damping_ratio_from_decrement,
    damping_ratio_from_overshoot,
    full_power_hertz,
    natural_hertz,
    overshoot_from_damping_ratio,
    peak_time_s,
    quality_factor,
    resonance_peak_db,
    ringing_hertz,
    rise_time_alone,
    rise_time_from_corner,
    slew_rate,
    tilt_percent,
    tilt_percent_of_half_swing,
)


def _steady_half_period(corner: float, square: float) -> np.ndarray:
    """Last positive half of a long square wave through scipy's first-order high-pass."""
    rate = 4000.0 * square
    b, a = signal.butter(1, corner, "highpass", fs=rate)
    wave = np.tile(np.repeat([1.0, -1.0], 2000), 60)
    return signal.lfilter(b, a, wave)[-4000:-2000]


@pytest.mark.parametrize("corner", [1.5, 5.0, 20.0])
def test_tilt_is_that_of_a_filtered_square_wave(corner: float) -> None:
    top = _steady_half_period(corner, 50.0)

    assert 100.0 * (1.0 - top[-1] / top[0]) == pytest.approx(tilt_percent(corner, 50.0), rel=2e-3)
    assert 100.0 * (top[0] - top[-1]) == pytest.approx(
        tilt_percent_of_half_swing(corner, 50.0), rel=2e-3
    )


@given(st.floats(0.01, 40.0), st.floats(20.0, 1e4))
def test_tilt_gives_back_its_corner(corner: float, square: float) -> None:
    assert corner_from_tilt(tilt_percent(corner, square), square) == pytest.approx(corner, rel=1e-6)


def test_a_rising_top_has_a_negative_corner_and_a_vanished_one_none() -> None:
    assert corner_from_tilt(-5.0, 50.0) < 0.0
    with pytest.raises(ValueError, match="cannot fall"):
        corner_from_tilt(100.0, 50.0)


def test_rise_time_is_that_of_a_simulated_pole() -> None:
    pole = signal.lti([1.0], [1.0 / (2 * np.pi * 20e3), 1.0])
    time, step = signal.step(pole, T=np.linspace(0.0, 1e-4, 100001))
    ten, ninety = np.interp([0.1, 0.9], step, time)

    assert rise_time_from_corner(20e3) == pytest.approx(ninety - ten, rel=1e-6)
    assert corner_from_rise_time(ninety - ten) == pytest.approx(20e3, rel=1e-6)


def test_instruments_slower_than_the_picture_are_refused() -> None:
    with pytest.raises(ValueError, match="no longer than"):
        rise_time_alone(2e-6, 2e-6)


@pytest.mark.parametrize("zeta", [0.1, 0.3, 0.5, 0.7])
def test_step_figures_are_those_of_a_simulated_resonance(zeta: float) -> None:
    omega = 2.0 * np.pi
    system = signal.lti([omega**2], [1.0, 2 * zeta * omega, omega**2])
    time, step = signal.step(system, T=np.linspace(0.0, 3.0, 30001))
    top = int(np.argmax(step))

    assert 100.0 * (step[top] - 1.0) == pytest.approx(overshoot_from_damping_ratio(zeta), rel=1e-5)
    assert time[top] == pytest.approx(peak_time_s(1.0, zeta), abs=2e-4)


@pytest.mark.parametrize("zeta", [0.1, 0.3, 0.5, 0.7])
def test_the_peak_of_the_response_is_that_of_scipy(zeta: float) -> None:
    _, response = signal.freqs([1.0], [1.0, 2 * zeta, 1.0], np.linspace(1e-3, 1.5, 200001))

    peak = 20.0 * np.log10(np.max(np.abs(response)))
    assert resonance_peak_db(zeta) == pytest.approx(peak, abs=1e-6)


@given(st.floats(0.01, 0.95))
def test_overshoot_and_decrement_give_back_the_damping(zeta: float) -> None:
    decrement = 2 * math.pi * zeta / math.sqrt(1 - zeta**2)

    assert damping_ratio_from_overshoot(overshoot_from_damping_ratio(zeta)) == pytest.approx(zeta)
    assert damping_ratio_from_decrement(1.0, math.exp(-2 * decrement), 2) == pytest.approx(zeta)
    assert natural_hertz(ringing_hertz(1e5, zeta), zeta) == pytest.approx(1e5)
    assert quality_factor(zeta) == pytest.approx(1.0 / (2.0 * zeta))


def test_an_overdamped_step_does_not_overshoot_ring_or_peak() -> None:
    assert overshoot_from_damping_ratio(1.2) == 0.0
    assert resonance_peak_db(0.8) == 0.0
    with pytest.raises(ValueError, match="nothing rings"):
        natural_hertz(1e5, 1.0)


@pytest.mark.parametrize("bad", [0.0, 100.0, -3.0])
def test_an_overshoot_outside_its_range_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 100"):
        damping_ratio_from_overshoot(bad)


def test_a_ringing_that_grows_is_refused() -> None:
    with pytest.raises(ValueError, match="does not decay"):
        damping_ratio_from_decrement(1.0, 1.5)
    with pytest.raises(ValueError, match="at least 1"):
        damping_ratio_from_decrement(1.0, 0.5, 0)


@given(st.floats(1.0, 100.0), st.floats(1e3, 1e6))
def test_slew_rate_and_full_power_frequency_are_inverse(peak: float, f: float) -> None:
    assert full_power_hertz(slew_rate(peak, f), peak) == pytest.approx(f)
