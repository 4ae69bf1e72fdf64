"""Which family a response belongs to, errors that levels share, and what the fit hangs on."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from stepwise.science import EndOfResponse, end_level_db, fit_response
from tests.benchmarks.model_choice import study

HERTZ = np.array([10.0, 16.0, 25.0, 40.0, 80.0, 250.0, 1e3, 4e3, 1e4, 2e4, 4e4, 63e3, 1e5])


def _levels(low: EndOfResponse, high: EndOfResponse) -> np.ndarray:
    return end_level_db(HERTZ, low, "low") + end_level_db(HERTZ, high, "high")


def test_the_right_family_is_found_in_nineteen_of_twenty() -> None:
    tally = study(250, seed=3)
    assert tally.sweeps_right >= 0.95
    # 95 % of about 380 corners, less four standard deviations of a share.
    assert tally.share_inside() >= 0.905


def test_the_fit_hangs_on_each_level_as_refits_do() -> None:
    random = np.random.default_rng(4)
    clean = _levels(EndOfResponse(1, 14.0), EndOfResponse(2, 50e3, q=1.1))
    levels = clean + random.normal(0.0, 0.05, HERTZ.size)
    fit = fit_response(HERTZ, levels, 0.1)

    def parameters(values: np.ndarray) -> np.ndarray:
        again = fit_response(HERTZ, values, 0.1)
        numbers = [again.low.corner_hertz, again.high.corner_hertz, again.high.q]
        return np.array([again.offset_db, *np.log(numbers)])

    for place in range(HERTZ.size):
        nudge = np.zeros(HERTZ.size)
        nudge[place] = 1e-3
        slope = (parameters(levels + nudge) - parameters(levels - nudge)) / 2e-3
        np.testing.assert_allclose(fit.sensitivity[:, place], slope, rtol=0.05, atol=5e-3)


def test_a_shared_error_is_fitted_as_scipy_fits_it() -> None:
    # One unknown amount that all levels share grows with the fall, as that of a meter's scale.
    shared = 0.2 * (10.0 ** (-_levels(EndOfResponse(1, 14.0), EndOfResponse(0)) / 20.0) - 1.0)
    levels = _levels(EndOfResponse(1, 14.0), EndOfResponse(0)) + 1.5 * shared
    fit = fit_response(HERTZ, levels, 0.1, [shared])

    def residuals(p: np.ndarray) -> np.ndarray:
        model = p[0] + end_level_db(HERTZ, EndOfResponse(1, float(np.exp(p[1]))), "low")
        return np.append((levels - model - p[2] * shared) / 0.1, p[2])

    theirs = least_squares(residuals, [0.0, np.log(12.0), 0.0], xtol=1e-14, ftol=1e-14)
    assert fit.low.order == 1
    assert fit.low.corner_hertz == pytest.approx(np.exp(theirs.x[1]), rel=1e-5)
    covariance = np.linalg.inv(theirs.jac.T @ theirs.jac)
    np.testing.assert_allclose(fit.covariance, covariance[:2, :2], rtol=1e-3)
    # Taken for errors of each level alone it bends the corner further from the truth.
    plain = fit_response(HERTZ, levels, 0.1)
    assert abs(fit.low.corner_hertz - 14.0) < abs(plain.low.corner_hertz - 14.0)


def test_a_shared_error_alone_makes_no_second_corner() -> None:
    clean = _levels(EndOfResponse(1, 30.0), EndOfResponse(0))
    shared = 0.194 * (10.0 ** (-clean / 20.0) - 1.0)
    levels = clean - 1.6 * shared
    assert fit_response(HERTZ, levels, 0.05, [shared]).low.order == 1
    assert fit_response(HERTZ, levels, 0.05).low.order == 2


def test_other_models_have_their_share_of_the_evidence() -> None:
    levels = np.round(_levels(EndOfResponse(2, 12.0, q=0.4), EndOfResponse(0)) * 2.0) / 2.0
    fit = fit_response(HERTZ, levels, 0.15)
    assert fit.rivals
    assert sum(rival.weight for rival in fit.rivals) <= 1.0
    weights = [rival.weight for rival in fit.rivals]
    assert weights == sorted(weights, reverse=True)
    orders = {(rival.low.order, rival.high.order) for rival in fit.rivals}
    assert (fit.low.order, fit.high.order) not in orders


def test_a_small_departure_is_no_slip() -> None:
    levels = _levels(EndOfResponse(1, 12.0), EndOfResponse(0))
    levels[4] += 0.25
    assert fit_response(HERTZ, levels, 0.05).outliers == ()
    levels[4] += 0.25
    assert fit_response(HERTZ, levels, 0.05).outliers == (4,)


def test_an_end_with_one_point_has_no_corner() -> None:
    fit = fit_response([100.0, 300.0, 1e3, 3e3, 1e4, 2e4], [-2.0, 0, 0, 0, -1.0, -3.0], 0.1)
    assert fit.low.order <= 1
    only = fit_response([100.0, 1e3, 3e3, 1e4, 2e4], [-2.0, 0, 0, -1.0, -3.0], 0.1)
    assert only.low.order == 0


def test_shared_errors_must_be_numbers() -> None:
    with pytest.raises(ValueError, match="shared_db"):
        fit_response(HERTZ, np.zeros(13), 0.1, [np.full(13, np.nan)])
