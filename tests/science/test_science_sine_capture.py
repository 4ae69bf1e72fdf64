"""A captured sine: known harmonics come back, clipped waves agree with the formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest

from stepwise.science import analyse_sine, clipped_harmonics, thd_for_overdrive

RATE = 100e3


def _wave(hertz: float, seconds: float = 0.02) -> np.ndarray:
    return 2 * np.pi * hertz * np.arange(round(seconds * RATE)) / RATE


@pytest.mark.parametrize("hertz", [201.7, 1000.0, 1003.1, 7777.7])
def test_known_harmonics_come_back_whatever_the_frequency(hertz: float) -> None:
    angle = _wave(hertz) + 0.4
    wave = 0.3 + 20 * np.sin(angle) + 0.2 * np.sin(2 * angle + 1.0) + 0.1 * np.cos(3 * angle)

    found = analyse_sine(wave, RATE, 5)
    assert found.hertz == pytest.approx(hertz, rel=1e-5)
    assert found.mean_volts == pytest.approx(0.3, abs=2e-3)
    assert [each.rms_volts * math.sqrt(2) for each in found.harmonics[:3]] == pytest.approx(
        [20.0, 0.2, 0.1], abs=3e-3
    )
    assert found.thd_percent == pytest.approx(100 * math.hypot(0.01, 0.005), rel=0.02)


@pytest.mark.parametrize("overdrive", [1.02, 1.284, 2.0])
def test_clipped_sines_agree_with_the_formulas(overdrive: float) -> None:
    wave = np.clip(overdrive * np.sin(_wave(500.0, 0.01)), -1.0, 1.0)

    found = analyse_sine(wave, RATE, 61)
    series = clipped_harmonics(overdrive, 5)
    assert found.thd_percent == pytest.approx(thd_for_overdrive(overdrive), rel=2e-3)
    assert found.harmonics[2].percent == pytest.approx(100 * abs(series[3] / series[1]), rel=3e-3)
    assert math.cos(found.harmonics[2].phase_rad) == pytest.approx(np.sign(series[3]), abs=1e-3)
    assert found.asymmetry_percent == pytest.approx(0.0, abs=1e-3)
    assert found.crest_factor < math.sqrt(2.0)


def test_one_sided_clipping_shows_in_the_peaks_and_even_orders() -> None:
    wave = np.minimum(1.25 * np.sin(_wave(1000.0)), 1.0)

    found = analyse_sine(wave, RATE)
    assert found.asymmetry_percent < -10.0
    assert found.harmonics[1].percent == pytest.approx(4.83531, rel=0.01)


def test_noise_is_told_from_harmonics() -> None:
    noise = np.random.default_rng(1).normal(0.0, 0.05, 2000)

    found = analyse_sine(10 * np.sin(_wave(1000.0)) + noise, RATE)
    assert found.noise_volts == pytest.approx(0.05, rel=0.05)
    assert found.thd_percent < 0.1
    assert found.thd_n_percent == pytest.approx(100 * 0.05 * math.sqrt(2) / 10, rel=0.1)
    assert found.periods == 20


def test_only_as_many_harmonics_as_sampling_allows() -> None:
    found = analyse_sine(np.sin(_wave(12000.0)), RATE, 50)

    assert len(found.harmonics) == 4
    assert found.harmonics[-1].hertz < RATE / 2


@pytest.mark.parametrize(
    ("wave", "words"),
    [
        (np.zeros(100), "no signal"),
        (np.sin(_wave(1000.0, 0.0015)), "two whole periods"),
        (np.sin(_wave(20000.0)), "eight samples"),
        (np.array([1.0, np.nan] * 50), "finite"),
        (np.ones(4), "sixteen"),
    ],
)
def test_captures_that_hold_no_sine_are_refused(wave: np.ndarray, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        analyse_sine(wave, RATE)
