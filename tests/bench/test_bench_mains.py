"""Volts of two passes are held against one another on a mains that moved in between."""

from __future__ import annotations

import math

import pytest

from stepwise.bench import MAINS_WANDER, Supply, carried_over
from stepwise.quantities import Uncertain, correlation, exact, propagate

TRANSFORMER, LABORATORY = Supply("isolating transformer"), Supply("laboratory supply")
IDLE, LEFT, RIGHT = "idle/left/", "clip/left/8 ohm", "clip/right/8 ohm"


def over(volts: float, now: str = LEFT, supply: Supply = TRANSFORMER) -> Uncertain:
    return carried_over(exact(volts), supply, IDLE, now)


def test_the_mains_of_both_passes_counts() -> None:
    """Two rectangles of 1 %: 0.01 sqrt(2/3) of the volts."""
    moved = over(36.0)
    assert moved.value == 36.0
    assert moved.standard_uncertainty == pytest.approx(36.0 * MAINS_WANDER * math.sqrt(2.0 / 3.0))
    assert moved.coverage_factor < 2.0


@pytest.mark.parametrize(
    ("supply", "then"), [(LABORATORY, IDLE), (TRANSFORMER, LEFT), (TRANSFORMER, "")]
)
def test_nothing_is_added_where_nothing_moves(supply: Supply, then: str) -> None:
    volts = Uncertain(36.0, {"dc decade 1": 0.1})
    assert carried_over(volts, supply, then, LEFT) == volts


def test_what_is_carried_over_together_moves_together() -> None:
    plus, minus = over(36.0), over(-35.0)
    assert correlation(plus, minus) == pytest.approx(-1.0)
    assert propagate(lambda a, b: a / b, plus, minus).standard_uncertainty < 1e-9
    assert propagate(lambda a, b: a + b, plus, minus).standard_uncertainty == pytest.approx(
        over(1.0).standard_uncertainty
    )


def test_two_passes_share_the_mains_of_the_one_that_both_start_from() -> None:
    assert correlation(over(36.0), over(36.0, RIGHT)) == pytest.approx(0.5)
