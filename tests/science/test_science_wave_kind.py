"""A sine is not read as a square wave, nor the other way round; what lies between may be both."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from stepwise.science import OtherWave, WaveKind, analyse_sine, analyse_square

PERIOD, SAMPLES = 1000.0, 5300
TURNS = np.arange(SAMPLES) / PERIOD + 0.13


def _sine(overdrive: float) -> np.ndarray:
    return np.clip(overdrive * np.sin(2.0 * np.pi * TURNS), -1.0, 1.0)


def _triangle() -> np.ndarray:
    return signal.sawtooth(2.0 * np.pi * TURNS, 0.5)


def _straight(rise: float) -> np.ndarray:
    """Edges that take a share of the period from 10 % to 90 %."""
    return np.clip(_triangle() * 0.25 / (0.5 * rise / 0.8), -1.0, 1.0)


def _through(b: list[float], a: list[float]) -> np.ndarray:
    long = signal.square(2.0 * np.pi * (np.arange(SAMPLES + 8000) / PERIOD + 0.13))
    return signal.lfilter(b, a, long)[8000:]


def _one_pole(rise: float) -> np.ndarray:
    pole = np.exp(-np.log(9.0) / (rise * PERIOD))
    return _through([1.0 - pole], [1.0, -pole])


def _tilted(percent: float) -> np.ndarray:
    return _through([1.0, -1.0], [1.0, -((1.0 - percent / 100.0) ** (2.0 / PERIOD))])


def _ringing(zeta: float, omega: float) -> np.ndarray:
    system = signal.cont2discrete(([omega**2], [1.0, 2.0 * zeta * omega, omega**2]), 1.0)
    return _through(list(system[0].ravel()), list(system[1]))


def _noisy(wave: np.ndarray) -> np.ndarray:
    noise = np.random.default_rng(3).normal(0.0, 0.01, wave.size)
    return np.round((wave + noise) / 0.013) * 0.013


@pytest.mark.parametrize("overdrive", [0.9, 1.02, 1.05])
def test_a_sine_is_no_square_wave(overdrive: float) -> None:
    for wave in (_sine(overdrive), _noisy(_sine(overdrive)), 3.0 + _sine(overdrive)):
        with pytest.raises(OtherWave, match="looks like a sine, not a square wave") as told:
            analyse_square(wave, 1e6)
        assert told.value.looks_like is WaveKind.SINE


SQUARES = {
    "straight, a fiftieth": _straight(0.02),
    "straight, a fifth": _straight(0.2),
    "straight, a quarter": _straight(0.25),
    "one pole, a quarter": _one_pole(0.25),
    "tilted by 20 %": _tilted(20.0),
    "tilted by 60 %": _tilted(60.0),
    "ringing": _ringing(0.05, 0.1),
    "ringing to the next edge": _ringing(0.05, 0.0175),
}


@pytest.mark.parametrize("wave", SQUARES.values(), ids=SQUARES)
def test_a_square_wave_however_slow_tilted_or_ringing_is_one(wave: np.ndarray) -> None:
    for each in (wave, _noisy(wave)):
        assert analyse_square(each, 1e6).edges >= 8


@pytest.mark.parametrize("name", ["straight, a fiftieth", "tilted by 20 %", "tilted by 60 %"])
def test_a_square_wave_is_no_sine(name: str) -> None:
    for wave in (SQUARES[name], _noisy(SQUARES[name])):
        with pytest.raises(OtherWave, match="looks like a square wave, not a sine") as told:
            analyse_sine(wave, 1e6)
        assert told.value.looks_like is WaveKind.SQUARE


@pytest.mark.parametrize(("overdrive", "thd"), [(1.02, 0.6), (2.5, 27.0), (5.0, 39.0)])
def test_a_sine_driven_far_into_clipping_is_one(overdrive: float, thd: float) -> None:
    found = analyse_sine(_noisy(_sine(overdrive)), 1e6)

    assert found.thd_percent == pytest.approx(thd, abs=1.5)


def test_a_triangle_is_neither() -> None:
    for wave in (_triangle(), _noisy(_triangle())):
        for analyse in (analyse_square, analyse_sine):
            with pytest.raises(OtherWave, match="looks like a triangle wave, not a s") as told:
                analyse(wave, 1e6)
            assert told.value.looks_like is WaveKind.TRIANGLE
