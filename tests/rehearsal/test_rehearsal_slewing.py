"""A limited slope: the triangle's textbook figures, and a rate limiter stepped in time."""

from __future__ import annotations

import math

import numpy as np
import pytest

from stepwise.rehearsal.slewing import slewed_level_ratio, slewed_rise_time


def test_a_slope_that_is_steep_enough_changes_nothing() -> None:
    assert slewed_level_ratio(1.0) == 1.0
    assert slewed_level_ratio(50.0) == 1.0


@pytest.mark.parametrize("share", [0.05, 0.2, 0.5])
def test_far_below_it_is_a_triangle(share: float) -> None:
    # Triangle of slope S and period T: peak S T / 4, mean half of it; a sine's mean is 2/pi.
    period, peak = 1e-4, 3.0
    slope = share * 2.0 * math.pi / period * peak
    triangle_mean = slope * period / 8.0
    assert slewed_level_ratio(share) == pytest.approx(triangle_mean / (2.0 * peak / math.pi))


@pytest.mark.parametrize("share", [0.3, 0.6, 0.8, 0.95])
def test_between_it_follows_a_rate_limiter(share: float) -> None:
    angle = np.linspace(0.0, 8.0 * np.pi, 80_001)
    wanted, most, out = np.sin(angle), share * (angle[1] - angle[0]), [0.0]
    for value in wanted[1:]:
        out.append(out[-1] + float(np.clip(value - out[-1], -most, most)))
    ratio = np.abs(out[60_001:]).mean() * np.pi / 2.0
    assert slewed_level_ratio(share) == pytest.approx(ratio, rel=4e-3)


def test_level_falls_steadily_with_the_slope() -> None:
    ratios = [slewed_level_ratio(share) for share in np.linspace(0.05, 1.0, 60)]
    assert all(np.diff(ratios) > -2e-3)


def test_an_edge_takes_four_fifths_of_its_height_at_full_slope() -> None:
    assert slewed_rise_time(0.0, 10.0, 1e6) == pytest.approx(8e-6)
    assert slewed_rise_time(5e-6, 10.0, math.inf) == 5e-6
    assert slewed_rise_time(6e-6, 10.0, 1e6) == pytest.approx(10e-6)
