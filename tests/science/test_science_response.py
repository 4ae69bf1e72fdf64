"""Response: first-order formulas against scipy, crossings, flatness, the fitted corner."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal
from scipy.optimize import least_squares

from stepwise.science import (
    corner_for_drop,
    corner_from_reading_high,
    corner_from_reading_low,
    crossing_hertz,
    first_order_highpass_db,
    first_order_lowpass_db,
    fit_first_order_high,
    fit_first_order_low,
    flatness_db,
    slope_db_per_octave,
    third_octaves,
)

SWEEP = np.array(third_octaves())


def _analog_db(kind: str, corner: float, hertz: np.ndarray) -> np.ndarray:
    b, a = signal.butter(1, 2 * np.pi * corner, kind, analog=True)
    _, response = signal.freqs(b, a, 2 * np.pi * hertz)
    return 20.0 * np.log10(np.abs(response))


@pytest.mark.parametrize("corner", [3.0, 50.0, 40e3])
def test_first_order_responses_are_those_of_scipy(corner: float) -> None:
    high, low = first_order_highpass_db(SWEEP, corner), first_order_lowpass_db(SWEEP, corner)

    np.testing.assert_allclose(high, _analog_db("highpass", corner, SWEEP), atol=1e-9)
    np.testing.assert_allclose(low, _analog_db("lowpass", corner, SWEEP), atol=1e-9)


@given(st.floats(1.0, 100.0), st.floats(1.0, 500.0))
def test_one_reading_gives_back_its_corner(f: float, corner: float) -> None:
    low = corner_from_reading_low(f, first_order_highpass_db(f, corner))
    high = corner_from_reading_high(f, first_order_lowpass_db(f, corner))

    assert low == pytest.approx(corner, rel=1e-9)
    assert high == pytest.approx(corner, rel=1e-6)
    assert first_order_highpass_db(20.0, corner_for_drop(20.0, 0.5)) == pytest.approx(-0.5)


def test_a_level_that_has_not_fallen_has_no_corner() -> None:
    with pytest.raises(ValueError, match="drop below 0 dB"):
        corner_from_reading_low(20.0, 0.0)


def test_the_crossing_of_a_fine_sweep_is_the_solved_one() -> None:
    hertz = np.geomspace(1.0, 1e6, 2001)
    levels = first_order_highpass_db(hertz, 8.0) + first_order_lowpass_db(hertz, 80e3)
    levels = levels - first_order_highpass_db(1e3, 8.0) - first_order_lowpass_db(1e3, 80e3)

    low, high = (crossing_hertz(hertz, levels, 3.0103, side) for side in ("low", "high"))
    assert low == pytest.approx(7.99824, rel=1e-4)
    assert high == pytest.approx(80017.6, rel=1e-4)


def test_a_crossing_on_a_point_is_that_point() -> None:
    assert crossing_hertz([10, 20, 1000], [-3, -1, 0], 1.0, "low") == pytest.approx(20.0)
    assert crossing_hertz([1000, 2e4, 1e5], [0, -1, -3], 3.0, "high") == pytest.approx(1e5)


def test_the_first_fall_counts_even_if_the_level_recovers() -> None:
    levels = [-6.0, 0.0, -4.0, 0.0]

    assert crossing_hertz([10, 50, 200, 1000], levels, 3.0, "low") == pytest.approx(
        200.0 * 5.0**0.25
    )


def test_a_response_that_never_falls_has_no_crossing() -> None:
    assert crossing_hertz([10, 100, 1000], [0.2, -0.9, 0.0], 1.0, "low") is None
    assert crossing_hertz([10, 100, 1000], [-6.0, -3.0, 0.0], 1.0, "high") is None


def test_the_order_of_the_points_does_not_matter() -> None:
    mixed = crossing_hertz([1000, 10, 100], [0.0, -6.0, -0.5], 3.0, "low")

    assert mixed == crossing_hertz([10, 100, 1000], [-6.0, -0.5, 0.0], 3.0, "low")


@pytest.mark.parametrize(
    ("frequencies", "levels", "drop", "side"),
    [
        ([], [], 3.0, "low"),
        ([10, 20], [0.0], 3.0, "low"),
        ([-10, 20], [0.0, 0.0], 3.0, "low"),
        ([10, 20], [0.0, math.nan], 3.0, "low"),
        ([10, 20], [0.0, 0.0], -3.0, "low"),
        ([10, 20], [0.0, 0.0], 3.0, "left"),
    ],
)
def test_points_that_are_no_sweep_are_refused(frequencies, levels, drop, side) -> None:
    with pytest.raises(ValueError, match="must be"):
        crossing_hertz(frequencies, levels, drop, side)


def test_flatness_counts_band_edges_and_humps() -> None:
    hertz, levels = [10, 20, 1000, 20e3, 40e3], [-3.0, -0.5, 0.0, 0.8, -2.0]

    assert flatness_db(hertz, levels, 20.0, 20e3) == 0.8
    assert flatness_db(hertz, levels, 19.0, 1e3) == 0.5
    with pytest.raises(ValueError, match="no point"):
        flatness_db(hertz, levels, 3e3, 4e3)


def test_the_far_slope_of_one_pole_is_six_decibels_an_octave() -> None:
    near, far = (first_order_highpass_db(f, 1000.0) for f in (1.0, 2.0))

    assert slope_db_per_octave(near, far, 1.0) == pytest.approx(6.0206, abs=1e-4)
    with pytest.raises(ValueError, match="octaves is zero"):
        slope_db_per_octave(near, far, 0.0)


@given(st.floats(math.log(2.0), math.log(200.0)))
def test_a_clean_corner_is_found_exactly(log_corner: float) -> None:
    corner = math.exp(log_corner)
    reference = SWEEP[20]
    low = first_order_highpass_db(SWEEP, corner)
    high = first_order_lowpass_db(SWEEP, 1e6 / corner)

    below = fit_first_order_low(SWEEP, low - low[20], 0.1)
    above = fit_first_order_high(SWEEP, high - high[20], 0.1)
    assert reference == 1000.0
    assert below is not None
    assert above is not None
    assert below.corner_hertz == pytest.approx(corner, rel=1e-9)
    assert above.corner_hertz == pytest.approx(1e6 / corner, rel=1e-9)
    assert below.chi_square == pytest.approx(0.0, abs=1e-9)
    assert (below.points, above.points) == (20, 20)


def test_the_fit_and_its_uncertainty_are_those_of_scipy() -> None:
    random = np.random.default_rng(7)
    standard = np.where(SWEEP < 30.0, 0.3, 0.1)
    levels = first_order_highpass_db(SWEEP, 14.0) + random.normal(0.0, standard)
    used = SWEEP < 1000.0

    def residuals(log_corner: np.ndarray) -> np.ndarray:
        corner = float(np.exp(log_corner[0]))
        model = first_order_highpass_db(SWEEP[used], corner)
        model = model - first_order_highpass_db(1000.0, corner)
        return (levels[used] - model) / standard[used]

    theirs = least_squares(residuals, [math.log(30.0)], xtol=1e-15, gtol=1e-15)
    relative = 1.0 / np.linalg.norm(theirs.jac)
    ours = fit_first_order_low(SWEEP, levels, standard)
    assert ours is not None
    assert ours.corner_hertz == pytest.approx(math.exp(theirs.x[0]), rel=1e-6)
    assert ours.standard_hertz == pytest.approx(ours.corner_hertz * relative, rel=1e-4)
    assert ours.chi_square == pytest.approx(2.0 * theirs.cost, rel=1e-8)


def test_stated_uncertainty_covers_what_noise_does() -> None:
    random = np.random.default_rng(11)
    hertz = np.array([10.0, 16.0, 25.0, 50.0, 200.0, 1000.0])
    clean = first_order_highpass_db(hertz, 12.0)
    fits = [fit_first_order_low(hertz, clean + random.normal(0.0, 0.2, 6), 0.2) for _ in range(400)]
    corners = np.array([fit.corner_hertz for fit in fits if fit])

    assert len(corners) == 400
    assert np.std(corners) == pytest.approx(fits[0].standard_hertz, rel=0.15)


def test_a_flat_end_places_no_corner() -> None:
    flat = np.zeros(SWEEP.size)

    assert fit_first_order_low(SWEEP, flat, 0.1) is None
    assert fit_first_order_high(SWEEP, flat + 0.2 * (SWEEP > 5e3), 0.1) is None
    assert fit_first_order_low([100.0, 1000.0], [-3.0, 0.0], 0.1) is None


def test_an_impossible_uncertainty_is_refused() -> None:
    with pytest.raises(ValueError, match="standard_db"):
        fit_first_order_low([10.0, 20.0, 1000.0], [-3.0, -1.0, 0.0], 0.0)


def test_the_fit_moves_smoothly_with_its_readings() -> None:
    hertz = [10.0, 20.0, 50.0, 1000.0]
    nudges = np.linspace(-1e-6, 1e-6, 5)
    corners = []
    for nudge in nudges:
        fit = fit_first_order_low(hertz, [-3.1 + nudge, -0.9, -0.2, 0.0], 0.1)
        assert fit is not None
        corners.append(fit.corner_hertz)
    steps = np.diff(corners)
    assert np.all(steps < 0.0)
    np.testing.assert_allclose(steps, steps[0], rtol=1e-4)
