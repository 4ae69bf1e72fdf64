"""Columns by what a terminal shows."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from stepwise.report import hanging, table_row, wrap
from stepwise.report.columns import WIDTH, width


@given(st.text(alphabet="ab Ω電話e\u0301", max_size=60), st.integers(2, 20))
def test_wrapping_keeps_every_character_and_the_width(text: str, columns: int) -> None:
    lines = wrap(text, columns)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(width(line) <= columns for line in lines)


def test_a_row_is_as_high_as_its_highest_cell() -> None:
    rows = list(table_row([(["one two"], 4), (["three", "four"], 6), ([], 3), (["x"], 1)]))
    assert rows == [" one  three      x", " two  four"]


def test_wide_characters_take_two_columns() -> None:
    assert list(table_row([(["電話"], 6), (["x"], 1)])) == [" 電話   x"]


def test_a_paragraph_hangs_under_its_opening() -> None:
    lines = list(hanging("word " * 40, "say: ", "     "))
    assert lines[0].startswith("say: word")
    assert all(line.startswith("     word") for line in lines[1:])
    assert max(map(len, lines)) <= WIDTH
