"""The ± holds the truth as often as it says: a small study; the large one is a benchmark."""

from __future__ import annotations

import math

import pytest

from stepwise.quantities import COVERAGE_PROBABILITY
from tests.benchmarks.coverage import Coverage, study

BENCHES = 200


@pytest.fixture(scope="module")
def table() -> dict[str, Coverage]:
    return study(BENCHES, seed=7)


def test_hardly_a_bench_is_without_a_result(table: dict[str, Coverage]) -> None:
    # Three temperatures in whole degrees may happen to bend no way at all.
    silent = {line.of: line.silent for line in table.values() if line.silent}
    assert len(table) == 21
    assert set(silent) <= {"final temperature, 3 readings"}
    assert sum(silent.values()) <= 3


def test_the_truth_is_inside_as_often_as_said(table: dict[str, Coverage]) -> None:
    # Three standard deviations of the count, a binomial one; the large study has 93 to 97 %.
    chance = 300.0 * math.sqrt(COVERAGE_PROBABILITY * (1.0 - COVERAGE_PROBABILITY) / BENCHES)
    beyond = {
        line.of: line.percent
        for line in table.values()
        if abs(line.percent - 100.0 * COVERAGE_PROBABILITY) > chance
    }
    assert not beyond


def test_one_limit_of_error_needs_less_than_many(table: dict[str, Coverage]) -> None:
    power = table["power into 8 ohm"].factors
    ratio = table["level in dB, on the scale"].factors
    assert max(power) < 1.75 < min(ratio)
