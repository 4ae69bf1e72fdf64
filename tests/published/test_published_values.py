"""Every published value is met as far as its digits go."""

from __future__ import annotations

import pytest
from published_check import Check
from show_checks import FAMILIES, main

EVERY = [
    pytest.param(check, id=f"{family}: {check.subject}")
    for family, checks in FAMILIES.items()
    for check in checks
]


@pytest.mark.parametrize("check", EVERY)
def test_computed_agrees_with_its_source(check: Check) -> None:
    computed = check.computed()

    assert type(computed) is float
    assert abs(computed - check.expected) <= check.within


def test_every_check_names_its_source_and_a_tolerance_that_can_fail() -> None:
    for checks in FAMILIES.values():
        for check in checks:
            assert check.source
            # A-weighting is printed to a tenth of a decibel; all else to 3 % or better.
            coarse = 0.051 if "A-weighting" in check.subject else 0.0
            assert 0.0 < check.within <= max(0.03 * abs(check.expected), coarse, 1e-6), (
                check.subject
            )


def test_the_printed_table_shows_each_value(capsys: pytest.CaptureFixture[str]) -> None:
    assert main() == 0

    lines = capsys.readouterr().out.splitlines()
    assert sum(len(checks) for checks in FAMILIES.values()) <= len(lines)
    assert not any(line.startswith("✗") for line in lines)
