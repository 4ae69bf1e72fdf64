"""The fitted model of a whole response: truth recovered, orders chosen, slips named."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal
from scipy.optimize import least_squares

from stepwise.science import (
    EndOfResponse,
    Minimum,
    end_level_db,
    end_slope,
    fit_response,
    minimise,
    response_peaks,
    third_octaves,
)

SWEEP = np.array(third_octaves())
FIRST_LOW, FIRST_HIGH = EndOfResponse(1, 8.0), EndOfResponse(1, 80e3)


def _levels(low: EndOfResponse, high: EndOfResponse, hertz: np.ndarray = SWEEP) -> np.ndarray:
    levels = end_level_db(hertz, low, "low") + end_level_db(hertz, high, "high")
    return levels - levels[np.argmin(np.abs(hertz - 1000.0))]


def _noise(seed: int, standard: float = 0.1, size: int = SWEEP.size) -> np.ndarray:
    return np.random.default_rng(seed).normal(0.0, standard, size)


@pytest.mark.parametrize("q", [0.3, 0.5, 0.7071, 1.5])
def test_second_order_ends_are_those_of_scipy(q: float) -> None:
    omega = 2 * np.pi * 30.0
    denominator = [1.0, omega / q, omega**2]
    for side, numerator in (("low", [1.0, 0.0, 0.0]), ("high", [omega**2])):
        _, response = signal.freqs(numerator, denominator, 2 * np.pi * SWEEP)
        ours = end_level_db(SWEEP, EndOfResponse(2, 30.0, q=q), side)
        np.testing.assert_allclose(ours, 20 * np.log10(np.abs(response)), atol=1e-8)


def test_a_low_q_is_two_separate_corners() -> None:
    end = EndOfResponse(2, 20.0, q=0.4)
    lower, upper = end.corners_hertz
    separate = sum(
        end_level_db(SWEEP, EndOfResponse(1, corner), "low") for corner in (lower, upper)
    )

    assert lower < 20.0 < upper
    np.testing.assert_allclose(end_level_db(SWEEP, end, "low"), separate, atol=1e-9)
    assert EndOfResponse(2, 20.0, q=0.8).corners_hertz == ()
    assert EndOfResponse(0).corners_hertz == ()
    assert FIRST_LOW.corners_hertz == (8.0,)


CASES = {
    "both first order": (FIRST_LOW, FIRST_HIGH),
    "two low corners": (EndOfResponse(2, 25.0, q=0.4), EndOfResponse(1, 60e3)),
    "resonant both": (EndOfResponse(2, 20.0, q=1.2), EndOfResponse(2, 50e3, q=1.5)),
    "second order high": (EndOfResponse(1, 30.0), EndOfResponse(2, 40e3, q=0.7071)),
    "no ends": (EndOfResponse(0), EndOfResponse(0)),
    "only a peak": (EndOfResponse(0), EndOfResponse(2, 30e3, q=2.0)),
    "only a low end": (EndOfResponse(1, 12.0), EndOfResponse(0)),
}


@pytest.mark.parametrize("name", CASES)
def test_orders_and_corners_are_recovered_from_noisy_sweeps(name: str) -> None:
    low, high = CASES[name]
    fit = fit_response(SWEEP, _levels(low, high) + _noise(5), 0.1)

    for found, true in ((fit.low, low), (fit.high, high)):
        assert found.order == true.order
        if true.corner_hertz is None:
            continue
        assert abs(found.corner_hertz - true.corner_hertz) < 4 * found.standard_corner_hertz
        if true.q is not None:
            assert abs(found.q - true.q) < 4 * found.standard_q
    assert fit.outliers == ()
    assert 0.5 < fit.chi_square / fit.freedom < 1.7


def test_a_clean_sweep_gives_its_corners_back_exactly() -> None:
    fit = fit_response(SWEEP, _levels(FIRST_LOW, FIRST_HIGH), 0.1)

    assert fit.low.corner_hertz == pytest.approx(8.0, rel=1e-6)
    assert fit.high.corner_hertz == pytest.approx(80e3, rel=1e-6)
    np.testing.assert_allclose(fit.level_db(SWEEP), _levels(FIRST_LOW, FIRST_HIGH), atol=1e-6)


def test_stated_uncertainties_are_those_of_repeated_sweeps() -> None:
    clean = _levels(FIRST_LOW, FIRST_HIGH)
    fits = [fit_response(SWEEP, clean + _noise(seed), 0.1) for seed in range(60)]
    corners = np.array([fit.low.corner_hertz for fit in fits if fit.low.order == 1])

    assert {fit.low.order for fit in fits} <= {1, 2}
    assert np.mean([fit.low.order == 1 for fit in fits]) > 0.9
    assert np.median(corners) == pytest.approx(8.0, rel=0.02)
    assert np.std(corners) == pytest.approx(fits[0].low.standard_corner_hertz, rel=0.3)


def test_a_single_slip_is_named_and_does_not_bend_the_curve() -> None:
    levels = _levels(FIRST_LOW, FIRST_HIGH) + _noise(3)
    levels[30] += 10.0
    levels[12] -= 1.5

    fit = fit_response(SWEEP, levels, 0.1)
    assert fit.outliers == (30, 12)
    assert (fit.low.order, fit.high.order) == (1, 1)
    assert fit.low.corner_hertz == pytest.approx(8.0, rel=0.05)
    assert fit.residuals[30] == pytest.approx(100.0, abs=5.0)


def test_a_slip_of_the_reference_moves_the_middle_only() -> None:
    levels = _levels(FIRST_LOW, FIRST_HIGH) + 0.8

    fit = fit_response(SWEEP, levels, 0.1)
    assert fit.offset_db == pytest.approx(0.8, abs=0.01)
    assert fit.low.corner_hertz == pytest.approx(8.0, rel=1e-3)


def test_a_sparse_sweep_still_fits() -> None:
    hertz = np.array([10.0, 20.0, 50.0, 200.0, 1e3, 5e3, 20e3, 50e3])
    truth = _levels(EndOfResponse(1, 15.0), EndOfResponse(1, 60e3), hertz)

    fit = fit_response(hertz, truth + _noise(2, 0.05, 8), 0.05)
    assert (fit.low.order, fit.high.order) == (1, 1)
    assert fit.low.corner_hertz == pytest.approx(15.0, rel=0.05)


@pytest.mark.parametrize(
    ("hertz", "levels", "standard", "words"),
    [
        ([10, 20, 30], [0, 0, 0], 0.1, "at least four"),
        ([10, 20, 30, -40], [0, 0, 0, 0], 0.1, "frequencies"),
        ([10, 20, 30, 40], [0, 0, 0, math.nan], 0.1, "levels_db"),
        ([10, 20, 30, 40], [0, 0, 0, 0], 0.0, "standard_db"),
    ],
)
def test_values_that_are_no_sweep_are_refused(hertz, levels, standard, words) -> None:
    with pytest.raises(ValueError, match=words):
        fit_response(hertz, levels, standard)


def test_the_minimiser_ends_where_scipy_does() -> None:
    x = np.linspace(0.0, 5.0, 30)
    y = 3.0 * np.exp(-0.7 * x) + 0.5 + _noise(9, 0.05, 30)

    def model(p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        decay = np.exp(-p[1] * x)
        slopes = np.column_stack((decay, -p[0] * x * decay, np.ones_like(x)))
        return (y - p[0] * decay - p[2]) / 0.05, -slopes / 0.05

    ours: Minimum = minimise(model, np.array([1.0, 2.0, 0.0]))
    theirs = least_squares(lambda p: model(p)[0], [1.0, 2.0, 0.0], xtol=1e-14, ftol=1e-14)
    np.testing.assert_allclose(ours.parameters, theirs.x, rtol=1e-5)
    np.testing.assert_allclose(ours.covariance, np.linalg.inv(theirs.jac.T @ theirs.jac), rtol=1e-3)


def test_huber_loss_ends_where_scipy_does() -> None:
    x = np.linspace(0.0, 1.0, 20)
    y = 2.0 * x + 1.0 + _noise(4, 0.1, 20)
    y[4] += 5.0

    def model(p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return (y - p[0] * x - p[1]) / 0.1, -np.column_stack((x, np.ones_like(x))) / 0.1

    ours = minimise(model, np.zeros(2), huber=1.345)
    theirs = least_squares(lambda p: model(p)[0], [0.0, 0.0], loss="huber", f_scale=1.345)
    np.testing.assert_allclose(ours.parameters, theirs.x, rtol=1e-3)


def test_parameters_that_the_data_do_not_tell_have_no_bound() -> None:
    def model(p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return np.array([p[0] + p[1] - 1.0, p[0] + p[1] - 2.0]), np.ones((2, 2))

    assert np.isinf(np.diag(minimise(model, np.zeros(2)).covariance)).all()


def test_far_slopes_are_six_decibels_an_octave_for_each_order() -> None:
    hertz = np.geomspace(0.1, 1000.0, 60)
    one = end_level_db(hertz, EndOfResponse(1, 100.0), "low")
    two = end_level_db(hertz[::-1], EndOfResponse(2, 100.0, q=0.7), "low")

    assert end_slope(hertz, one, "low") == pytest.approx(-6.02, abs=0.01)
    assert end_slope(hertz[::-1], two, "low") == pytest.approx(-12.04, abs=0.01)
    assert end_slope(1e3 / hertz, one, "high") == pytest.approx(-6.02, abs=0.01)
    with pytest.raises(ValueError, match="two different"):
        end_slope([10.0, 10.0], [0.0, 1.0], "low")
    with pytest.raises(ValueError, match="two different"):
        end_slope([10.0], [0.0], "low")


def test_peaks_stand_out_of_their_feet() -> None:
    levels = [-3.0, 1.0, 0.0, 0.2, 0.0, 2.5, 2.4, -6.0]
    peaks = response_peaks([10, 20, 50, 200, 1e3, 2e4, 3e4, 5e4], levels)

    assert [peak.hertz for peak in peaks] == [20.0, 2e4]
    assert [peak.prominence_db for peak in peaks] == pytest.approx([1.0, 2.5])
    assert response_peaks([10, 100, 1000], [3.0, 0.0, -1.0]) == ()
