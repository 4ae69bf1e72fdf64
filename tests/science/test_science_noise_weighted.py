"""A-weighted noise against a sum over scipy's own spectrum and the published table."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal

from stepwise.science import a_weighted_volts, analyse_sine, signal_to_noise_db

# IEC 61672-1, table of weightings, rounded there to 0.1 dB; its frequencies, such as 250 Hz, stand
# for powers of the tenth root of ten
PUBLISHED = [(-10, -19.1), (-6, -8.6), (0, 0.0), (4, 1.3), (10, -2.5)]


def _weight(hertz: np.ndarray) -> np.ndarray:
    """The filter as poles and zeros [1], from its definition and not from the code under test."""
    poles = (
        2.0 * np.pi * np.array([20.598997, 20.598997, 107.65265, 737.86223, 12194.217, 12194.217])
    )
    _, at = signal.freqs_zpk([0.0] * 4, -poles, 1.0, 2.0 * np.pi * hertz)
    _, one = signal.freqs_zpk([0.0] * 4, -poles, 1.0, [2.0 * np.pi * 1000.0])
    return np.abs(at) / np.abs(one)


def _white(rate: float, standard: float) -> float:
    """A-weighted RMS of white noise, by quadrature up to half the rate."""
    hertz = np.linspace(1.0, 0.5 * rate, 200_001)
    mean_square = np.trapezoid(_weight(hertz) ** 2, hertz) / (0.5 * rate)
    return standard * math.sqrt(mean_square)


@pytest.mark.parametrize(("band", "decibel"), PUBLISHED)
def test_a_tone_is_weighted_as_published(band: int, decibel: float) -> None:
    hertz = 1000.0 * 10.0 ** (band / 10.0)
    tone = math.sqrt(2.0) * np.sin(2.0 * np.pi * hertz * np.arange(96_000) / 96e3)

    found, _ = a_weighted_volts(tone, 96e3)
    assert 20.0 * math.log10(found) == pytest.approx(decibel, abs=0.06)


@pytest.mark.parametrize("rate", [20e3, 48e3, 250e3])
def test_white_noise_is_weighted_as_by_quadrature(rate: float) -> None:
    random = np.random.default_rng(4)
    found = [a_weighted_volts(random.normal(0.0, 0.1, 8192), rate) for _ in range(60)]
    volts, standard = np.array(found).T

    exact = _white(rate, 0.1)
    assert volts.mean() == pytest.approx(exact, rel=0.01)
    assert volts.std() == pytest.approx(standard.mean(), rel=0.35)
    assert np.mean(np.abs(volts - exact) < 2.0 * standard) > 0.85


@pytest.mark.parametrize("rate", [30e3, 96e3, 500e3])
def test_noise_beside_a_sine_is_what_was_put_in(rate: float) -> None:
    at = np.arange(20_000) / rate
    noise = np.random.default_rng(6).normal(0.0, 0.05, at.size)
    # sampled slowly, the upper harmonics of flat tops would fold back between the lower ones
    limit = 10.0 if rate > 90e3 else 11.0
    wave = np.clip(10.5 * np.sin(2.0 * np.pi * 997.0 * at), -limit, limit)
    found = analyse_sine(wave + noise, rate)

    assert found.noise_volts == pytest.approx(0.05, abs=3.0 * found.standard.noise_volts)
    exact = _white(rate, 0.05)
    # lines at the harmonics are taken for harmonics, a few in a thousand
    assert found.noise_a_volts == pytest.approx(
        exact, abs=3.0 * found.standard.noise_a_volts + 0.01 * exact
    )
    ratio = signal_to_noise_db(found.rms_volts, found.noise_a_volts)
    assert ratio > signal_to_noise_db(found.rms_volts, found.noise_volts)
    assert found.noise_band_hertz == (pytest.approx(rate / 16_384, rel=0.1), 0.5 * rate)


@pytest.mark.parametrize(("volts", "rate"), [(np.ones(4), 1.0), (np.ones((4, 8)), 1.0),
                                             (np.ones(32), 0.0)])  # fmt: skip
def test_what_is_no_noise_is_refused(volts: np.ndarray, rate: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        a_weighted_volts(volts, rate)
