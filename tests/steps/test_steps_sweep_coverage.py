"""The stated intervals of a sweep's results hold the truth as often as they say."""

from __future__ import annotations

import pytest

from tests.benchmarks.coverage_sweep import Coverage, study


@pytest.fixture(scope="module")
def coverage() -> Coverage:
    return study(220, seed=11)


@pytest.mark.parametrize(
    "name",
    [
        *("level_db", "minus_1db_low", "minus_3db_low", "minus_1db_high", "minus_3db_high"),
        *("corner_low", "corner_high", "coupling_capacitance"),
    ],
)
def test_about_95_of_100_intervals_hold_the_truth(coverage: Coverage, name: str) -> None:
    stated = coverage.stated[name]
    assert stated > 100
    # 93 to 97 %, widened by three standard deviations of a share of so few.
    room = 3.0 * (0.95 * 0.05 / min(stated, 220)) ** 0.5
    assert 0.93 - room < coverage.share(name) <= min(0.97 + room, 1.0)


def test_no_honest_reading_is_named_as_odd(coverage: Coverage) -> None:
    assert coverage.outliers <= 1
