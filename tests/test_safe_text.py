"""Text from people, made harmless: one way for terminals, screens and spreadsheets."""

from __future__ import annotations

import csv
import io
import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from stepwise.archive import write_csv
from stepwise.procedure.problems import printable
from stepwise.safe_text import csv_cell, is_obeyed, plain
from tests.report.test_report_escape import ANY_TEXT


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


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=cmd|' /C calc'!A0", "'=cmd|' /C calc'!A0"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("+1+1", "'+1+1"),
        ("-2+3", "'-2+3"),
        (" =1+1", "' =1+1"),
        ("\t=1+1", "' =1+1"),
        ("＝1+1", "'＝1+1"),
        ("note;=1+1", "note;'=1+1"),
        ("note, @x", "note, '@x"),
        ("note;-1+1", "note;'-1+1"),
        ("note|+1+1", "note|'+1+1"),
        ("a,,=1", "a,,'=1"),
        ("x; -4.5, y", "x; '-4.5, y"),
        ("-4.5, y", "'-4.5, y"),
        ("1,=1", "1,'=1"),
        ("-4.5", "-4.5"),
        ("+0.5", "+0.5"),
        ("-4,5", "-4,5"),
        ("-1.5e-3", "-1.5e-3"),
        ("+4.5", "+4.5"),
        ("1e-3", "1e-3"),
        ("-4.5 dB", "'-4.5 dB"),
        ("2.0 on 3 x10", "2.0 on 3 x10"),
        ("left-right = both", "left-right = both"),
        ("48,2", "48,2"),
        ("0,312 V", "0,312 V"),
        ("Low corner by the tilt, 100 Hz", "Low corner by the tilt, 100 Hz"),
        ("a; 3 V, < 5: /x", "a; 3 V, < 5: /x"),
        ("1,-2", "1,-2"),
        ("first; -2,5", "first; -2,5"),
        ("it's; '8 ohm'", "it's; '8 ohm'"),
        ("\x1b[31mred\u202e", "\\x1b[31mred\\u202e"),
        ("two\nlines\r\n", "two lines\\r "),
    ],
)
def test_a_spreadsheet_computes_nothing_of_a_cell(text: str, cell: str) -> None:
    assert csv_cell(text) == cell


@given(st.from_regex(r"[A-Za-z0-9 .,;:/<>?()|µΩ°±×%'\"]+", fullmatch=True))
def test_text_without_a_sign_that_opens_a_formula_is_not_altered(text: str) -> None:
    assert csv_cell(text) == text


_SHOWN_NUMBER = re.compile(r"\s*[-+]?[0-9]+([.,][0-9]+)?(e[-+]?[0-9]+)?\s*", re.IGNORECASE)


@settings(deadline=None, derandomize=True)  # a slow machine is no fault of the text
@given(text=ANY_TEXT)
@example("48,-2+3")
@example("-4,5;+1|@x")
def test_a_cell_is_one_cell_however_the_table_is_read(text: str) -> None:
    cell = csv_cell(text)
    held = io.StringIO()
    csv.writer(held, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\n").writerow([cell, "end"])
    assert next(csv.reader(io.StringIO(held.getvalue()))) == [cell, "end"]
    for delimiter in ",;\t":
        for part in cell.split(delimiter):
            is_number = _SHOWN_NUMBER.fullmatch(part)
            assert is_number or not part.lstrip().startswith(("=", "@", "+", "-"))


@pytest.mark.parametrize("text", ["note;=1+1", " =1+1", "＝1", "\u202e=1", "\x1b[2J"])
def test_every_room_makes_text_harmless_alike(text: str) -> None:
    held = io.StringIO()
    write_csv([(text,)], held)
    assert held.getvalue().splitlines()[1] == csv_cell(text)
    assert printable(text) == plain(text)


@given(st.characters())
def test_what_a_terminal_may_obey_never_stands_bare(character: str) -> None:
    assert not any(is_obeyed(each) for each in plain(character))
