"""8-bit captures with 1 % of noise, of systems whose exact responses scipy gives.

Each is read back within what a person may ask: overshoot and tilt within one percentage point,
rise time within 3 %, ringing frequency within 1 %, distortion within 0.1 point; over many seeds
and rates. Every truth comes from scipy or a closed form, none from the code under test. Noise
is 1 % of the height of the step, RMS; for sines 1 % of the peak.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal

from stepwise.science import analyse_sine, analyse_square

SEEDS = range(6)
_FINER = 4
"""Steps of the exact simulation within one sample."""
_SCREEN = 0.6
"""Share of the converter's range that a step fills."""


def _captured(wave: np.ndarray, height: float, noise: float, seed: int) -> np.ndarray:
    """The wave with noise, in the steps of an 8-bit converter."""
    random = np.random.default_rng(seed)
    step = height / _SCREEN / 256
    return np.round((wave + random.normal(0.0, noise, wave.size)) / step) * step


def _square(period: float, periods: float, seed: int) -> np.ndarray:
    """A square wave from -1 to 1, `_FINER` steps a sample, starting anywhere in its period."""
    count = int(period * periods * _FINER)
    turns = np.arange(count) / (period * _FINER) + np.random.default_rng(seed + 99).uniform()
    return np.where(turns % 1.0 < 0.5, 1.0, -1.0)


def _through(system: tuple[list[float], list[float]], wave: np.ndarray) -> np.ndarray:
    """Held between its steps, so that the discrete response is exact; in samples' time."""
    discrete = signal.cont2discrete(system, 1.0 / _FINER)
    return signal.lfilter(discrete[0].ravel(), discrete[1], wave)


def _rise_by_scipy(system: tuple[list[float], list[float]], longest: float) -> float:
    time, step = signal.step(system, T=np.linspace(0.0, longest, 20_001))
    until = int(np.argmax(step >= 0.95)) + 1
    return float(np.diff(np.interp([0.1, 0.9], step[:until], time[:until]))[0])


def _second_order(natural: float, zeta: float) -> tuple[list[float], list[float]]:
    return [natural**2], [1.0, 2.0 * zeta * natural, natural**2]


RATES = [(400.0, 4.3, 10.0), (1000.0, 3.2, 16.0), (4000.0, 2.4, 40.0), (500.0, 20.3, 10.0)]
"""Samples a period, periods, samples in the rise of the edge, about."""


def _edges(rate: tuple[float, float, float], zeta: float, seed: int) -> tuple[np.ndarray, float]:
    """A capture of a resonant low-pass, and its natural frequency [rad/sample]."""
    period, periods, rise = rate
    natural = (1.0 + 1.1 * zeta) / rise
    settled = _through(_second_order(natural, zeta), _square(period, periods + 1.0, seed))
    wave = settled[int(period * _FINER) :][::_FINER]  # without its first edge from nothing
    return _captured(wave, 2.0, 0.02, seed), natural


def _settles(period: float, rise: float, zeta: float) -> bool:
    """Whether an edge has died away before the next, so that each is a step of its own."""
    return zeta * (1.0 + 1.1 * zeta) / rise * 0.5 * period > 6.0


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: f"{rate[0]:.0f} samples")
@pytest.mark.parametrize("zeta", [0.2, 0.35, 0.5, 0.7])
def test_overshoot_and_rise_time(rate, zeta: float) -> None:
    period, periods, rise = rate
    if not _settles(period, rise, zeta):
        rate = (period * 2.0, periods, rise)
    for seed in SEEDS:
        capture, natural = _edges(rate, zeta, seed)
        found = analyse_square(capture, 1.0)

        system = _second_order(natural, zeta)
        _, step = signal.step(system, T=np.linspace(0.0, 20.0 / natural, 20_001))
        assert found.overshoot_percent == pytest.approx(100.0 * (step.max() - 1.0), abs=1.0)
        rise = _rise_by_scipy(system, 20.0 / natural)
        assert found.rise_time_s == pytest.approx(rise, rel=0.03)
        assert found.fall_time_s == pytest.approx(rise, rel=0.03)
        assert found.preshoot_percent < 1.2


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: f"{rate[0]:.0f} samples")
@pytest.mark.parametrize("zeta", [0.08, 0.2, 0.35])
def test_ringing_frequency_and_damping(rate, zeta: float) -> None:
    period, _, rise = rate
    if not _settles(period, rise, zeta):
        rate = (period * 4.0, 2.4, rise)
    for seed in SEEDS:
        capture, natural = _edges(rate, zeta, seed)
        ringing = analyse_square(capture, 1.0).ringing

        assert ringing is not None
        damped = natural * math.sqrt(1.0 - zeta**2) / (2.0 * math.pi)
        assert ringing.hertz == pytest.approx(damped, rel=0.01)
        assert ringing.damping_ratio == pytest.approx(zeta, rel=0.06)


@pytest.mark.parametrize(
    "rate", [(1500.0, 3.2, 24.0), (4000.0, 2.4, 40.0), (800.0, 12.3, 16.0)], ids=str
)
def test_rise_time_of_a_single_pole_without_overshoot(rate) -> None:
    period, periods, rise = rate
    tau = rise / math.log(9.0)
    for seed in SEEDS:
        settled = _through(([1.0], [tau, 1.0]), _square(period, periods + 1.0, seed))
        capture = _captured(settled[int(period * _FINER) :][::_FINER], 2.0, 0.02, seed)
        found = analyse_square(capture, 1.0)

        assert found.rise_time_s == pytest.approx(rise, rel=0.03)
        assert found.fall_time_s == pytest.approx(rise, rel=0.03)
        assert found.overshoot_percent < 1.0
        assert found.ringing is None


def test_rise_time_of_a_single_pole_is_right_in_the_mean() -> None:
    period, tau = 1000.0, 16.0 / math.log(9.0)
    errors = []
    for seed in range(40):
        settled = _through(([1.0], [tau, 1.0]), _square(period, 4.3, seed))
        capture = _captured(settled[int(period * _FINER) :][::_FINER], 2.0, 0.02, seed)
        found = analyse_square(capture, 1.0)
        errors.append((found.rise_time_s - 16.0, found.standard.rise_time_s))
    away, standard = np.array(errors).T

    assert abs(away.mean()) < 0.005 * 16.0
    assert np.mean(np.abs(away) < 2.0 * standard) > 0.85
    assert standard.mean() < 0.02 * 16.0


SHORT_EDGES = {
    "one pole": ([1.0], [1.0, 1.0]),
    "two equal poles": ([1.0], [1.0, 2.0, 1.0]),
    "two poles far apart": ([1.0], [1.0, 3.0, 1.0]),
    "two poles and a zero": ([0.3, 1.0], [1.0, 1.2, 1.0]),
    "three poles": tuple(signal.bessel(3, 1.0, analog=True)),
    "four poles": tuple(signal.butter(4, 1.0, analog=True)),
    "six poles": tuple(signal.bessel(6, 1.0, analog=True)),
}


def _errors_of_short_edges(system: tuple[list[float], list[float]], seeds: range) -> np.ndarray:
    """Relative errors of rise and fall times of ten samples, and what is stated of them."""
    rise = 10.0
    powers = (rise / _rise_by_scipy(system, 30.0)) ** np.arange(len(system[1]) - 1, -1, -1)
    slowed = system[0] * powers[-len(system[0]) :], system[1] * powers
    errors = []
    for seed in seeds:
        settled = _through(slowed, _square(400.0, 5.3, seed))
        found = analyse_square(_captured(settled[400 * _FINER :][::_FINER], 2.0, 0.02, seed), 1.0)
        errors.append((found.rise_time_s / rise - 1.0, found.standard.rise_time_s / rise))
        errors.append((found.fall_time_s / rise - 1.0, found.standard.fall_time_s / rise))
    return np.array(errors)


def test_edges_of_ten_samples_are_told_and_the_uncertainty_is_honest() -> None:
    errors = {name: _errors_of_short_edges(each, range(10)) for name, each in SHORT_EDGES.items()}
    away, standard = np.concatenate(list(errors.values())).T

    worst = {name: np.abs(each[:, 0]).max() for name, each in errors.items()}
    assert max(worst.values()) < 0.03, worst
    # nineteen of twenty, less what chance takes from 140
    assert np.mean(np.abs(away) < 2.0 * standard) > 0.9
    assert standard.max() < 0.02


def test_a_straight_edge_in_noise_is_no_filter_and_still_told() -> None:
    for seed in SEEDS:
        ramp = np.interp(np.arange(2400) % 600, [0, 90, 110, 390, 410, 600], [-1, -1, 1, 1, -1, -1])
        found = analyse_square(_captured(ramp, 2.0, 0.02, seed), 1.0)

        assert found.rise_time_s == pytest.approx(16.0, rel=0.03)
        assert found.fall_time_s == pytest.approx(16.0, rel=0.03)


@pytest.mark.parametrize("exponent", [0.02, 0.1, 0.3, 0.8, 1.5])
@pytest.mark.parametrize(("period", "periods"), [(1000.0, 3.3), (4000.0, 2.6), (500.0, 12.3)])
def test_tilt(exponent: float, period: float, periods: float) -> None:
    corner = exponent / math.pi / period
    for seed in SEEDS:
        pole = 2.0 * math.pi * corner
        wave = _square(period, periods + 8.0, seed)
        high_pass = _through(([1.0, 0.0], [1.0, pole]), wave)
        capture = _captured(high_pass[int(8.0 * period * _FINER) :][::_FINER], 2.0, 0.02, seed)
        found = analyse_square(capture, 1.0)

        # where few time constants went by since the start, the mean has not settled whole
        exact = 100.0 * -math.expm1(-exponent)
        assert found.tilt_percent == pytest.approx(exact, abs=1.0)
        assert found.corner_hertz == pytest.approx(corner, rel=0.06, abs=0.01 / period)


@pytest.mark.parametrize(("samples", "periods"), [(5000, 4.3), (10_000, 10.7), (100_000, 41.7)])
@pytest.mark.parametrize("overdrive", [1.02, 1.1, 1.284, 1.757])
def test_distortion(samples: int, periods: float, overdrive: float) -> None:
    # the exact series of the clipped sine, by quadrature over a finely drawn period
    angle = (np.arange(1 << 16) + 0.5) * 2.0 * np.pi / (1 << 16)
    lines = np.abs(np.fft.rfft(np.clip(overdrive * np.sin(angle), -1.0, 1.0)))
    exact = 100.0 * math.sqrt(float(np.sum(lines[2:] ** 2))) / lines[1]
    for seed in SEEDS:
        phase = np.random.default_rng(seed + 7).uniform(0.0, 2.0 * np.pi)
        turns = 2.0 * np.pi * periods * np.arange(samples) / samples
        wave = np.clip(overdrive * np.sin(turns + phase), -1.0, 1.0)
        found = analyse_sine(_captured(wave, 2.0, 0.01, seed), float(samples))

        assert found.thd_percent == pytest.approx(exact, abs=0.1)
        assert found.hertz == pytest.approx(periods, rel=2e-4)
        assert found.positive_peak_volts == pytest.approx(1.0, abs=0.015)
        assert found.clipping is not None
        if overdrive > 1.05:
            assert found.clipping.positive_volts == pytest.approx(1.0, abs=0.02)
            assert found.clipping.overdrive == pytest.approx(overdrive, rel=0.02)


@pytest.mark.parametrize("zeta", [0.05, 0.1])
def test_a_ringing_that_lasts_to_the_next_edge_is_no_tilt(zeta: float) -> None:
    for seed in SEEDS:
        capture, natural = _edges((800.0, 5.3, 10.0), zeta, seed)
        found = analyse_square(capture, 1.0)

        assert found.ringing is not None
        damped = natural * math.sqrt(1.0 - zeta**2) / (2.0 * math.pi)
        assert found.ringing.hertz == pytest.approx(damped, rel=0.01)
        if found.tilt_percent is not None:
            assert abs(found.tilt_percent) < 3.0 * found.standard.tilt_percent


def test_a_clean_sine_has_no_distortion_to_speak_of() -> None:
    for seed in SEEDS:
        wave = 0.9 * np.sin(2.0 * np.pi * 10.7 * np.arange(10_000) / 10_000)
        found = analyse_sine(_captured(wave, 2.0, 0.01, seed), 1e4)

        assert found.thd_percent < 0.1
        assert found.clipping is not None
        assert found.clipping.overdrive == 1.0


BARELY_CLIPPED = {
    "both tops": (lambda angle: np.clip(1.02 * np.sin(angle), -1.0, 1.0), (True, True)),
    "one top": (lambda angle: np.minimum(1.02 * np.sin(angle), 1.0), (True, False)),
}
NOT_CLIPPED = {
    "clean": lambda angle: 0.98 * np.sin(angle),
    "second harmonic, one top low": lambda angle: np.sin(angle) + 0.01 * np.cos(2.0 * angle),
    "second harmonic, leaning": lambda angle: np.sin(angle) + 0.01 * np.sin(2.0 * angle),
    "third harmonic, low tops": lambda angle: np.sin(angle) + 0.01 * np.sin(3.0 * angle),
    "third harmonic, high tops": lambda angle: np.sin(angle) - 0.01 * np.sin(3.0 * angle),
    "soft crossover": lambda angle: np.sin(angle) - 0.03 * np.tanh(5.0 * np.sin(angle)),
    "soft compression": lambda angle: np.tanh(0.35 * np.sin(angle)) / np.tanh(0.35),
}


def _angle(samples: int, periods: float, seed: int) -> np.ndarray:
    phase = np.random.default_rng(seed + 7).uniform(0.0, 2.0 * np.pi)
    return 2.0 * np.pi * periods * np.arange(samples) / samples + phase


@pytest.mark.parametrize(("samples", "periods"), [(2000, 3.3), (10_000, 10.7)])
@pytest.mark.parametrize(("shape", "tops"), BARELY_CLIPPED.values(), ids=BARELY_CLIPPED)
def test_a_sine_clipped_by_two_percent_is_said_to_be(shape, tops, samples, periods) -> None:
    for seed in SEEDS:
        wave = shape(_angle(samples, periods, seed))
        found = analyse_sine(_captured(wave, 2.0, 0.01, seed), float(samples)).clipping

        assert found is not None
        assert (found.positive_volts is not None, found.negative_volts is not None) == tops
        assert found.positive_volts == pytest.approx(1.0, abs=0.01)
        assert found.overdrive == pytest.approx(1.02, abs=0.01)


@pytest.mark.parametrize("noise", [0.01, 0.0])
@pytest.mark.parametrize("shape", NOT_CLIPPED.values(), ids=NOT_CLIPPED)
def test_what_is_bent_softly_is_not_said_to_be_clipped(shape, noise: float) -> None:
    for seed in SEEDS:
        wave = shape(_angle(5000, 4.3, seed))
        found = analyse_sine(_captured(wave, 2.0, noise, seed), 5000.0).clipping

        assert found is not None
        assert (found.positive_volts, found.negative_volts, found.overdrive) == (None, None, 1.0)


@pytest.mark.parametrize("a_period", [40, 96, 250])
def test_sampling_in_step_with_the_wave_does_not_hide_the_clipping(a_period: int) -> None:
    wave = np.clip(1.05 * np.sin(2.0 * np.pi * np.arange(100 * a_period) / a_period), -1.0, 1.0)
    found = analyse_sine(_captured(wave, 2.0, 0.01, 1), 1000.0 * a_period).clipping

    assert found is not None
    assert found.positive_volts == pytest.approx(1.0, abs=0.01)
    assert found.negative_volts == pytest.approx(1.0, abs=0.01)
