"""Clipped sines against sampled ones, inverses, limits; distortion; noise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from stepwise.science import (
    A_WEIGHTING_POLES_HERTZ,
    SINE_FORM_FACTOR,
    THD_OF_SQUARE_PERCENT,
    a_weighting_db,
    average_meter_reading,
    clipped_harmonics,
    clipped_mean_square,
    overdrive_for_thd,
    power_ratio_for_overdrive,
    power_ratio_for_thd,
    thd_for_overdrive,
    thd_from_harmonics,
    thd_of_total_percent,
    thermal_noise_volts,
    without_meter_noise,
)

SAMPLES = 1 << 16
ANGLE = 2.0 * np.pi * np.arange(SAMPLES) / SAMPLES


def _clipped(overdrive: float, negative: float = 1.0) -> np.ndarray:
    return np.clip(overdrive * np.cos(ANGLE), -negative, 1.0)


@pytest.mark.parametrize("negative", [1.0, 1.1, 0.7, math.inf])
@pytest.mark.parametrize("overdrive", [0.8, 1.0, 1.05, 1.25, 2.0, 10.0])
def test_harmonics_and_power_are_those_of_sampled_waves(overdrive, negative) -> None:
    wave = _clipped(overdrive, negative)
    series = np.fft.rfft(wave).real[:10] * 2.0 / SAMPLES
    series[0] /= 2.0

    np.testing.assert_allclose(clipped_harmonics(overdrive, 9, negative), series, atol=2e-8)
    assert clipped_mean_square(overdrive, negative) == pytest.approx(np.mean(wave**2), rel=1e-7)


@given(st.floats(1.001, 50.0))
def test_distortion_sums_every_harmonic(overdrive: float) -> None:
    series = clipped_harmonics(overdrive, 4001)
    by_sum = thd_from_harmonics(float(series[1]), series[2:].tolist())

    assert by_sum == pytest.approx(thd_for_overdrive(overdrive), abs=0.01)


@given(st.floats(0.001, 48.0))
def test_overdrive_and_distortion_are_inverse(thd: float) -> None:
    assert thd_for_overdrive(overdrive_for_thd(thd)) == pytest.approx(thd, rel=1e-6)


def test_a_sine_below_its_limit_is_clean() -> None:
    assert thd_for_overdrive(0.5) == pytest.approx(0.0, abs=1e-6)
    assert overdrive_for_thd(0.0) == 1.0
    assert power_ratio_for_overdrive(1.0) == pytest.approx(1.0)
    assert power_ratio_for_thd(10.0, 10.0) == pytest.approx(1.0)


@pytest.mark.parametrize("bad", [48.35, 100.0, -1.0])
def test_no_clipping_gives_the_distortion_of_a_square_wave(bad: float) -> None:
    with pytest.raises(ValueError, match=r"48\.34|negative"):
        overdrive_for_thd(bad)


def test_hard_overdrive_tends_to_the_square_wave() -> None:
    assert thd_for_overdrive(1e6) == pytest.approx(THD_OF_SQUARE_PERCENT)
    assert power_ratio_for_overdrive(1e6) == pytest.approx(2.0, rel=1e-5)


@pytest.mark.parametrize("overdrive", [0.5, 1.0, 1.3, 4.0])
def test_an_average_responding_meter_shows_the_scaled_mean(overdrive: float) -> None:
    mean = np.mean(np.abs(_clipped(overdrive)))

    assert average_meter_reading(overdrive, 30.0) == pytest.approx(
        30.0 * SINE_FORM_FACTOR * mean, rel=1e-6
    )


def test_a_free_side_of_no_height_is_refused() -> None:
    with pytest.raises(ValueError, match="negative_limit"):
        clipped_mean_square(1.2, 0.0)
    with pytest.raises(ValueError, match="highest"):
        clipped_harmonics(1.2, 0)


@given(st.floats(0.001, 300.0))
def test_distortion_of_the_total_is_the_smaller_and_below_all(thd: float) -> None:
    assert thd_of_total_percent(thd) <= min(thd, 100.0)


def test_weighting_is_the_filter_that_its_poles_make() -> None:
    f1, f2, f3, f4 = A_WEIGHTING_POLES_HERTZ
    poles = -2.0 * np.pi * np.array([f1, f1, f2, f3, f4, f4])
    hertz = np.geomspace(10.0, 40e3, 200)
    _, response = signal.freqs_zpk([0.0] * 4, poles, 1.0, 2.0 * np.pi * hertz)
    _, at_1k = signal.freqs_zpk([0.0] * 4, poles, 1.0, [2000.0 * np.pi])

    theirs = 20.0 * np.log10(np.abs(response) / np.abs(at_1k))
    np.testing.assert_allclose(a_weighting_db(hertz), theirs, atol=1e-9)


def test_noise_of_the_meter_is_taken_out_in_power() -> None:
    assert without_meter_noise(5e-4, 3e-4) == pytest.approx(4e-4)
    with pytest.raises(ValueError, match="as much"):
        without_meter_noise(3e-4, 3e-4)
    assert thermal_noise_volts(1e3, 20e3) == pytest.approx(0.5756e-6, rel=1e-3)
