"""Crossings along a guide: exact for a response of its shape, and how they hang on the readings."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal
from scipy.optimize import brentq

from stepwise.science import (
    EndOfResponse,
    end_level_db,
    end_slope,
    end_slope_weights,
    first_order_highpass_db,
    guided_crossing,
)


def _scipy_level(hertz: float, order: int, corner: float, kind: str) -> float:
    b, a = signal.butter(order, 2.0 * math.pi * corner, kind, analog=True)
    _, response = signal.freqs(b, a, worN=[2.0 * math.pi * hertz])
    return 20.0 * math.log10(abs(response[0]))


@pytest.mark.parametrize(("order", "side", "kind"), [(1, "low", "high"), (2, "high", "low")])
@pytest.mark.parametrize("drop", [1.0, 3.0])
def test_a_guide_of_the_right_shape_leaves_no_error(
    order: int, side: str, kind: str, drop: float
) -> None:
    corner = 30.0 if side == "low" else 30e3
    inner, outer = (100.0, 10.0) if side == "low" else (10e3, 100e3)
    q = 0.5**0.5 if order == 2 else None
    # scipy's Butterworth responses and root as the oracle; the guide only has the shape.
    exact = brentq(
        lambda f: _scipy_level(f, order, corner, kind) + drop, min(inner, outer), max(inner, outer)
    )
    found = guided_crossing(
        (inner, _scipy_level(inner, order, corner, kind)),
        (outer, _scipy_level(outer, order, corner, kind)),
        drop,
        lambda f: end_level_db(f, EndOfResponse(order, corner, q=q), side),
    )
    assert found.hertz == pytest.approx(exact, rel=1e-6)


def test_without_a_guide_it_is_the_straight_line() -> None:
    straight = guided_crossing((200.0, -0.4), (20.0, -5.1), 3.0, lambda f: 0.0 * f)
    assert straight.hertz == pytest.approx(200.0 * 0.1 ** ((3.0 - 0.4) / (5.1 - 0.4)), rel=1e-9)


def test_its_changes_are_those_of_readings_that_are_nudged() -> None:
    def guide(hertz: np.ndarray) -> np.ndarray:
        return first_order_highpass_db(hertz, 22.0)

    def at(first: float, second: float) -> float:
        return guided_crossing((40.0, first), (16.0, second), 3.0, guide).hertz

    found = guided_crossing((40.0, -1.0), (16.0, -5.0), 3.0, guide)
    by_inner = (at(-1.0 + 1e-4, -5.0) - at(-1.0 - 1e-4, -5.0)) / 2e-4
    by_outer = (at(-1.0, -5.0 + 1e-4) - at(-1.0, -5.0 - 1e-4)) / 2e-4
    assert found.by_inner == pytest.approx(by_inner, rel=1e-3)
    assert found.by_outer == pytest.approx(by_outer, rel=1e-3)


@pytest.mark.parametrize(("inner", "outer"), [(-1.0, -2.0), (-4.0, -5.0), (-3.0, -6.0)])
def test_readings_that_do_not_pass_the_level_are_refused(inner: float, outer: float) -> None:
    with pytest.raises(ValueError, match="do not pass"):
        guided_crossing((40.0, inner), (16.0, outer), 3.0, lambda f: 0.0 * f)


def test_a_slope_is_the_weighted_sum_of_its_levels() -> None:
    hertz = np.array([1000.0, 10.0, 12.5, 16.0, 20.0])
    levels = np.array([0.0, -9.0, -6.5, -4.0, -2.5])
    weights = end_slope_weights(hertz, "low")
    assert float(weights @ levels) == pytest.approx(end_slope(hertz, levels, "low"))
    # numpy's own regression over the binary logarithm as the oracle.
    rise, _ = np.polyfit(np.log2(hertz[1:]), levels[1:], 1)
    assert float(weights @ levels) == pytest.approx(-rise)
    assert weights[0] == 0.0
