"""The bar of a limit: more is always to the right, and only edges that there are are drawn."""

from __future__ import annotations

import pytest

from stepwise.judge import Judgement, Limit, Verdict
from stepwise.report.content import Cell
from stepwise.report.html import bar_places


def places(low: float | None, high: float | None, value: float) -> tuple[float, bool, bool]:
    limit = Limit(low, high, "W", "")
    cell = Cell("", Judgement(Verdict.IN_SPEC, 1.0, limit), bar=(limit.position(value), 0.0))
    found = bar_places(cell)
    return float(found.dot), found.has_floor, found.has_ceiling


@pytest.mark.parametrize(
    ("low", "high"), [(40.0, None), (None, 80.0), (40.0, 80.0)], ids=["min", "max", "both"]
)
def test_more_is_to_the_right(low: float | None, high: float | None) -> None:
    less, floor, ceiling = places(low, high, 47.0)
    more, *_ = places(low, high, 60.0)
    assert less < more
    assert (floor, ceiling) == (low is not None, high is not None)


def test_a_value_just_above_a_minimum_stands_just_right_of_its_edge() -> None:
    at_edge, *_ = places(40.0, None, 40.0)
    above, *_ = places(40.0, None, 41.0)
    assert at_edge < above < at_edge + 3.0
