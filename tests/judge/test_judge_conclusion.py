"""What a whole run comes to: never plainly in spec beside what is wrong or missing."""

from __future__ import annotations

import pytest

from stepwise.judge import Grade, Severity, Verdict, conclude

IN, OUT, CLOSE, NOTED = (
    Verdict.IN_SPEC, Verdict.OUT_OF_SPEC, Verdict.TOO_CLOSE, Verdict.NOTED,
)  # fmt: skip
WRONG, STOP = "wrong", "stop"


@pytest.mark.parametrize(
    ("verdict", "is_complete", "severities", "words", "brief", "grade"),
    [
        (IN, True, (), "in spec", "in spec", IN),
        (IN, True, ("look", "note"), "in spec", "in spec", IN),
        (IN, True, (WRONG, "look", WRONG),
         "in spec where it has a limit, but 2 things are wrong", "in spec, 2 wrong",
         Severity.WRONG),
        (IN, True, (STOP, WRONG),
         "in spec where it has a limit, but a stop stands and 1 thing is wrong",
         "in spec, 1 stop", Severity.STOP),
        (IN, False, (), "unfinished, in spec so far", "in spec so far", NOTED),
        (IN, False, (WRONG,),
         "unfinished, in spec so far where it has a limit, but 1 thing is wrong",
         "in spec, 1 wrong", Severity.WRONG),
        (CLOSE, True, (), "too close to call", "too close to call", CLOSE),
        (CLOSE, False, (STOP, STOP), "unfinished, too close to call so far, but 2 stops stand",
         "too close, 2 stops", Severity.STOP),
        (NOTED, True, (), "noted", "noted", NOTED),
        (NOTED, False, (WRONG,), "unfinished, noted so far, but 1 thing is wrong",
         "noted, 1 wrong", Severity.WRONG),
        (OUT, True, (STOP,), "out of spec", "out of spec", OUT),
    ],
)  # fmt: skip
def test_a_whole_is_in_spec_only_where_nothing_stands_beside_it(
    verdict: Verdict,
    is_complete: bool,
    severities: tuple[str, ...],
    words: str,
    brief: str,
    grade: Grade,
) -> None:
    whole = conclude(verdict, is_complete=is_complete, severities=severities)
    assert (whole.words, whole.brief, whole.grade) == (words, brief, grade)
    assert whole.listed == words
    assert len(whole.brief) <= 18  # with its sign it has 20 cells in the list of logs


def test_a_list_says_that_what_is_out_of_spec_is_not_complete() -> None:
    whole = conclude(OUT, is_complete=False, severities=())
    assert (whole.words, whole.listed) == ("out of spec", "out of spec, not complete")
