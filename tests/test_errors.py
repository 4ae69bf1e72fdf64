"""What would be right for a name that nothing has."""

from __future__ import annotations

import pytest

from stepwise.errors import did_you_mean, known_here, nearest_name, one_of_many

NAMES = ("power", "sag", "Rise time", "hum", "offset", "damping", "ceiling")


@pytest.mark.parametrize(
    ("written", "meant"),
    [("powr", "power"), ("POWER", "power"), ("rise tme", "Rise time"), ("xyzzy", None), ("", None)],
)
def test_the_nearest_name_is_found_whatever_its_case(written: str, meant: str | None) -> None:
    assert nearest_name(written, NAMES) == meant


def test_a_slip_is_told_what_was_meant_and_anything_else_what_there_is() -> None:
    assert did_you_mean("powr", NAMES) == "did you mean “power”?"
    assert did_you_mean("xyzzy", NAMES[:2]) == "known here: power, sag"
    assert did_you_mean("xyzzy", NAMES, "look again") == "look again"


def test_a_long_list_is_cut_and_says_how_much_is_left_out() -> None:
    assert known_here(NAMES, 2) == "known here: power, sag and 5 more"
    assert known_here(["sag", "sag"], 2) == "known here: sag"


def test_of_many_names_a_few_are_told_and_what_tells_all() -> None:
    assert (
        one_of_many("powr", NAMES, "stepwise x") == "did you mean “power”? “stepwise x” tells all"
    )
    assert one_of_many("xyzzy", NAMES, "stepwise x") == (
        "known here: power, sag, Rise time, hum, offset, damping and 1 more; “stepwise x” tells all"
    )
