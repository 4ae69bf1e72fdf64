"""Columns by what a terminal shows, and text from people that cannot steer it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stepwise.report import hanging, plain, table_row, wrap
from stepwise.report.columns import WIDTH, width


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("left · 8 Ω, 20 °C ± 1", "left · 8 Ω, 20 °C ± 1"),
        ("\x1b[2J\x1b]0;title\x07", "\\x1b[2J\\x1b]0;title\\x07"),
        ("two\nlines\tand a tab", "two lines and a tab"),
        ("\u202eturned\u2066", "\\u202eturned\\u2066"),
        ("\x9b31m\x7f", "\\x9b31m\\x7f"),
        ("half \udc80", "half \\udc80"),
        ("no\u00a0break", "no\u00a0break"),
    ],
)
def test_what_could_steer_a_terminal_is_made_visible(text: str, shown: str) -> None:
    assert plain(text) == shown


@given(st.text())
def test_no_text_whatever_brings_a_control_character(text: str) -> None:
    safe = plain(text)
    assert all(character.isprintable() or character.isspace() for character in safe)
    assert "\n" not in safe
    assert "\x1b" not in safe


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
