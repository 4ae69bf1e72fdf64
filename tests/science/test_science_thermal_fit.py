"""Fitted temperatures: Aitken's case, scipy's covariance, and honest refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import curve_fit

from stepwise.science import (
    exponential_approach,
    final_temperature_three_points,
    fit_exponential_approach,
)

TIMES = np.array([0.0, 60.0, 150.0, 300.0, 420.0, 600.0, 900.0])
TRUTH = exponential_approach(TIMES, 22.0, 58.0, 400.0)


def test_three_readings_give_what_three_points_give() -> None:
    fit = fit_exponential_approach([0, 60, 120], [25.0, 33.0, 38.0], 0.5)

    assert fit is not None
    assert fit.final == pytest.approx(final_temperature_three_points(25.0, 33.0, 38.0), rel=1e-6)
    assert fit.standard_final == pytest.approx(5.85868, rel=1e-3)
    assert fit.tau_s == pytest.approx(60.0 * 2.12764, rel=1e-4)


def test_the_fit_and_its_covariance_are_those_of_scipy() -> None:
    readings = TRUTH + np.random.default_rng(3).normal(0.0, 0.3, TIMES.size)
    best, covariance = curve_fit(
        lambda t, start, final, log_tau: exponential_approach(t, start, final, np.exp(log_tau)),
        TIMES,
        readings,
        [20.0, 60.0, 6.0],
        np.full(TIMES.size, 0.3),
        absolute_sigma=True,
    )
    fit = fit_exponential_approach(TIMES, readings, 0.3)

    assert fit is not None
    np.testing.assert_allclose([fit.start, fit.final, np.log(fit.tau_s)], best, rtol=1e-5)
    np.testing.assert_allclose(fit.covariance, covariance, rtol=1e-3)
    assert fit.freedom == 4


def test_stated_uncertainty_is_that_of_repeated_readings() -> None:
    random = np.random.default_rng(8)
    fits = [
        fit_exponential_approach(TIMES, TRUTH + random.normal(0.0, 0.3, TIMES.size), 0.3)
        for _ in range(100)
    ]
    finals = np.array([fit.final for fit in fits if fit])

    assert finals.size == 100
    assert np.std(finals) == pytest.approx(fits[0].standard_final, rel=0.3)
    assert fits[0].temperature(0.0) == pytest.approx(fits[0].start)


@pytest.mark.parametrize("readings", [(30, 40, 50), (30, 40, 55), (30, 30, 30)])
def test_readings_that_do_not_bend_have_no_end(readings: tuple[float, ...]) -> None:
    assert fit_exponential_approach([0, 60, 120], readings, 0.5) is None


@pytest.mark.parametrize(
    ("times", "readings", "standard", "words"),
    [
        ([0, 60], [20, 30], 0.5, "at least three"),
        ([60, 60, 60], [20, 30, 35], 0.5, "span"),
        ([0, 60, np.nan], [20, 30, 35], 0.5, "finite"),
        ([0, 60, 120], [20, 30, 35], 0.0, "standard_kelvin"),
    ],
)
def test_values_that_cannot_be_fitted_are_refused(times, readings, standard, words) -> None:
    with pytest.raises(ValueError, match=words):
        fit_exponential_approach(times, readings, standard)


@pytest.mark.parametrize(
    ("spans", "most", "least"), [(1.5, 3.6, 3.1), (3.0, 1.7, 1.3)], ids=["rough", "firm"]
)
def test_what_the_last_reading_is_off_by_reaches_the_end_as_is_said(
    spans: float, most: float, least: float
) -> None:
    for parts in ((0.0, 0.5, 1.0), (0.0, 1 / 6, 0.5, 1.0)):
        times = 600.0 * spans * np.array(parts)
        fit = fit_exponential_approach(times, exponential_approach(times, 20.0, 60.0, 600.0), 0.5)
        assert fit is not None
        assert least < fit.gains[1, -1] < most
        assert fit.gains[1].sum() == pytest.approx(1.0, rel=1e-6)
