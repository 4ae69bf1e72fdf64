"""Numbers read digit by digit, all rows at once, are the doubles that Python reads."""

from __future__ import annotations

import numpy as np
import pytest

from stepwise.captures.digits import column_of_digits


def _column(cells: list[str]) -> np.ndarray | None:
    text = ",".join(cells).encode()
    ends = np.cumsum([len(cell) + 1 for cell in cells]) - 1
    starts = ends - [len(cell) for cell in cells]
    return column_of_digits(np.frombuffer(text, np.uint8), starts, ends)


@pytest.mark.parametrize(
    "written", ["{:.3f}", "{:.7e}", "{:+.4f}", "{:.0f}", "{:.12f}", "{:.1E}", "{:09.4f}"]
)
def test_every_double_is_the_one_that_python_reads(written: str) -> None:
    random = np.random.default_rng(7)
    for scale in (1.0, 1e-7, 1e5):
        cells = [written.format(each) for each in random.normal(0.0, scale, 500)]
        signs = [cell for cell in cells if cell.startswith("-")]
        for part in (signs, [cell for cell in cells if cell not in signs]):
            found = _column(part)
            if found is not None:  # exponents of both signs are left to the slower way
                assert found.tolist() == [float(cell) for cell in part]


@pytest.mark.parametrize(
    "cells", [["1.25", "2.50"], ["-0.5", "0.25"], [".5", ".7"], ["5.", "7."], ["1e3", "2e1"]]
)
def test_common_forms_are_read_this_way(cells: list[str]) -> None:
    found = _column(cells)
    assert found is not None
    assert found.tolist() == [float(cell) for cell in cells]


@pytest.mark.parametrize(
    "cell",
    ["-", ".", "1e", "1-2", "1.2.3", "--1", "1e5e2", "e5", "nan", "1e99", "1e-9999",
     "1234567890123456", "1" * 40],
)  # fmt: skip
def test_anything_else_is_left_to_a_careful_parse(cell: str) -> None:
    assert _column([cell, cell]) is None


def test_forms_that_differ_at_one_length_are_left_to_a_careful_parse() -> None:
    assert _column(["1.25", "12.5"]) is None
