"""Response: first-order formulas against scipy, and points that are none."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from stepwise.science import (
    corner_for_drop,
    corner_from_reading_high,
    corner_from_reading_low,
    end_slope,
    first_order_highpass_db,
    first_order_lowpass_db,
    response_peaks,
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


@pytest.mark.parametrize(
    ("frequencies", "levels"),
    [
        ([], []),
        ([10, 20], [0.0]),
        ([-10, 20], [0.0, 0.0]),
        ([10, 20], [0.0, math.nan]),
    ],
)
def test_points_that_are_no_sweep_are_refused(frequencies, levels) -> None:
    with pytest.raises(ValueError, match="must be"):
        end_slope(frequencies, levels, "low")
    with pytest.raises(ValueError, match="must be"):
        response_peaks(frequencies, levels)
