"""A captured square wave: filters of scipy whose figures are known come back."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal

from stepwise.science import (
    StateLevels,
    analyse_square,
    fit_ringing,
    overshoot_from_damping_ratio,
    peak_time_s,
    ringing_hertz,
    state_levels,
    tilt_percent,
    transitions,
)

RATE = 1e6


def _square(hertz: float, periods: float, rate: float = RATE, peak: float = 5.0) -> np.ndarray:
    turns = np.arange(round(periods * rate / hertz)) * hertz / rate + 0.25
    return np.where(turns % 1.0 < 0.5, peak, -peak)


def _resonant(hertz: float, zeta: float, wave: np.ndarray, rate: float = RATE) -> np.ndarray:
    """A second-order low-pass simulated exactly between the steps of the wave."""
    omega = 2 * np.pi * hertz
    system = signal.cont2discrete(([omega**2], [1.0, 2 * zeta * omega, omega**2]), 1 / rate)
    return signal.lfilter(system[0].ravel(), system[1], wave - wave[0]) + wave[0]


def _coupled(corner: float, wave: np.ndarray, rate: float = RATE) -> np.ndarray:
    b, a = signal.butter(1, corner, "highpass", fs=rate)
    return signal.lfilter(b, a, wave)


def _noise(size: int, standard: float) -> np.ndarray:
    return np.random.default_rng(6).normal(0.0, standard, size)


def test_states_are_the_modes_of_both_halves() -> None:
    wave = _resonant(20e3, 0.3, _square(1e3, 3))
    levels = state_levels(wave + _noise(wave.size, 0.01))

    assert levels.low_volts == pytest.approx(-5.0, abs=0.02)
    assert levels.high_volts == pytest.approx(5.0, abs=0.02)
    assert levels.at(0.5) == pytest.approx(0.0, abs=0.02)


def test_reference_levels_of_a_ten_volt_pulse_are_one_and_nine() -> None:
    levels = StateLevels(0.0, 10.0)

    assert (levels.at(0.1), levels.at(0.9)) == (1.0, 9.0)


def test_ringing_about_the_middle_makes_no_extra_edges() -> None:
    wave = np.array([0, 0, 4, 6, 4, 6, 10, 10, 10, 6, 4, 6, 10, 10, 0, 0.0])
    edges = transitions(wave, StateLevels(0.0, 10.0))

    assert [edge.rising for edge in edges] == [True, False]
    assert edges[0].start == pytest.approx(1.25)
    assert edges[1].middle == pytest.approx(13.5)


def test_a_straight_edge_has_the_slope_and_times_that_it_was_made_with() -> None:
    ramp = np.interp(np.arange(400), [0, 99, 119, 299, 319, 399], [0, 0, 10, 10, 0, 0])
    found = analyse_square(ramp, RATE)

    assert found.rise_time_s == pytest.approx(16e-6)
    assert found.fall_time_s == pytest.approx(16e-6)
    assert found.slew_volts_per_s == pytest.approx(0.5e6)
    assert found.square_hertz == pytest.approx(RATE / 400)
    assert (found.overshoot_percent, found.preshoot_percent) == pytest.approx((0.0, 0.0))
    assert found.ringing is None


def test_rise_time_of_one_pole_is_that_of_its_corner() -> None:
    square = _square(1e3, 3)
    pole = math.exp(-2 * math.pi * 10e3 / RATE)
    wave = signal.lfilter([1 - pole], [1, -pole], square - square[0]) + square[0]

    found = analyse_square(wave, RATE)
    assert found.rise_time_s == pytest.approx(math.log(9) / (2 * math.pi * 10e3), rel=5e-3)
    assert found.tilt_percent == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("zeta", [0.1, 0.3, 0.5])
@pytest.mark.parametrize("corner", [None, 20.0])
def test_a_resonance_gives_back_its_overshoot_frequency_and_damping(zeta, corner) -> None:
    wave = _resonant(20e3, zeta, _square(500.0, 6))
    if corner:
        wave = _coupled(corner, wave)
    found = analyse_square(wave + _noise(wave.size, 0.002), RATE)

    # noise adds a little to the highest sample of a top
    assert found.overshoot_percent == pytest.approx(overshoot_from_damping_ratio(zeta), abs=0.3)
    assert found.ringing is not None
    assert found.ringing.hertz == pytest.approx(ringing_hertz(20e3, zeta), rel=0.01)
    assert found.ringing.damping_ratio == pytest.approx(zeta, rel=0.03)


@pytest.mark.parametrize(
    ("zeta", "normalised"), [(0.1, 1.10420), (0.3, 1.32134), (0.5, 1.63757), (0.7, 2.12620)]
)
def test_rise_times_of_resonances_are_the_published_ones(zeta: float, normalised: float) -> None:
    wave = _resonant(5e3, zeta, _square(100.0, 1.5))

    found = analyse_square(wave, RATE)
    assert found.rise_time_s == pytest.approx(normalised / (2 * np.pi * 5e3), rel=3e-3)


@pytest.mark.parametrize("corner", [1.5, 5.0, 15.0, 30.0])
def test_tilt_is_exact_even_where_it_is_large(corner: float) -> None:
    rate = 100e3
    wave = _coupled(corner, _square(50.0, 44, rate), rate)[-9000:]
    found = analyse_square(wave + _noise(wave.size, 0.01), rate)

    assert found.tilt_percent == pytest.approx(tilt_percent(corner, 50.0), rel=0.01)
    assert found.corner_hertz == pytest.approx(corner, rel=0.01)
    assert found.square_hertz == pytest.approx(50.0, rel=1e-4)
    assert found.high_volts - found.low_volts == pytest.approx(10.0, rel=0.01)
    assert found.overshoot_percent < 1.0


def test_an_offset_of_the_oscilloscope_does_not_tilt_the_top() -> None:
    wave = _coupled(5.0, _square(50.0, 44, 100e3), 100e3)[-9000:] + 3.0

    assert analyse_square(wave, 100e3).corner_hertz == pytest.approx(5.0, rel=0.01)


def test_preshoot_is_seen_before_the_edge_only() -> None:
    wave = np.interp(
        np.arange(400), [0, 90, 95, 100, 110, 299, 309, 399], [0, 0, -0.5, 0, 10, 10, 0, 0]
    )
    found = analyse_square(wave, RATE)

    # the mean of both edges: the falling one has none
    assert found.preshoot_percent == pytest.approx(2.5, abs=0.05)


def test_a_single_edge_still_has_a_rise_time() -> None:
    wave = np.interp(np.arange(200), [0, 99, 119, 199], [0, 0, 10, 10])
    found = analyse_square(wave, RATE)

    assert found.rise_time_s == pytest.approx(16e-6)
    assert (found.fall_time_s, found.square_hertz, found.tilt_percent) == (None, None, None)


def test_the_top_of_the_overshoot_comes_at_its_time() -> None:
    time = np.arange(400) / RATE
    ringing = fit_ringing(np.exp(-1e4 * time) * np.sin(2 * np.pi * 2e4 * time), RATE)

    assert ringing is not None
    assert ringing.hertz == pytest.approx(2e4, rel=1e-6)
    zeta = 1e4 / math.hypot(1e4, 2 * np.pi * 2e4)
    assert ringing.damping_ratio == pytest.approx(zeta, rel=1e-6)
    natural = ringing.hertz / math.sqrt(1 - zeta**2)
    assert peak_time_s(natural, zeta) == pytest.approx(0.5 / 2e4)


def test_stated_uncertainty_of_ringing_is_that_of_repeated_captures() -> None:
    time = np.arange(300) / RATE
    clean = np.exp(-1.5e4 * time) * np.sin(2 * np.pi * 2e4 * time)
    random = np.random.default_rng(12)
    fits = [fit_ringing(clean + random.normal(0.0, 0.02, 300), RATE) for _ in range(60)]

    assert all(fits)
    spread = np.std([fit.hertz for fit in fits])
    assert spread == pytest.approx(fits[0].standard_hertz, rel=0.4)
    spread = np.std([fit.damping_ratio for fit in fits])
    assert spread == pytest.approx(fits[0].standard_damping_ratio, rel=0.4)


@pytest.mark.parametrize(
    "samples",
    [
        np.ones(50),
        np.linspace(0.0, 1.0, 50),
        np.random.default_rng(2).normal(0.0, 1.0, 200),
        np.exp(0.02 * np.arange(200)) * np.sin(0.3 * np.arange(200)),
    ],
    ids=["constant", "ramp", "noise", "growing"],
)
def test_what_does_not_ring_has_no_ringing(samples: np.ndarray) -> None:
    assert fit_ringing(samples, RATE) is None


@pytest.mark.parametrize(
    ("wave", "words"),
    [
        (np.zeros(100), "does not change"),
        (np.array([0.0, np.nan] * 50), "finite"),
        (np.ones(4), "at least eight"),
    ],
)
def test_captures_that_hold_no_square_wave_are_refused(wave: np.ndarray, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        analyse_square(wave, RATE)
