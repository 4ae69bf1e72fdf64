"""The sheet and the JSON of a log tell the marks and how the total came about."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from stepwise.report import marks_record, marks_text, run_record, sheet_text
from stepwise.run import Run, RunView, plan_from_texts, read_run, run_marks
from tests.run import plans

SCHEME = """\
[[mark]]
name = "Clean power into 8 ohm, for a hall"
weight = 3
from = "power"
load = "8 ohm"
zero = "0 W"
ten = "90 W"
[[mark]]
name = "Low end"
weight = 1
from = "corner_low"
zero = "40 Hz"
ten = "5 Hz"
"""


def view_of(logs: Path, scheme: str, until: str | None = None) -> RunView:
    plan = plan_from_texts(plans.PROCEDURE + scheme, plans.UNIT, plans.BENCH, "try")
    with Run.start(plan, logs, plans.Clock()) as run:
        plans.play(run, until)
        folder = run.folder
    return read_run(folder)


def test_the_sheet_ends_with_the_marks(tmp_path: Path) -> None:
    view = view_of(tmp_path, SCHEME)
    lines = sheet_text(view.run).splitlines()
    assert max(len(line) for line in lines) <= 80
    text = " ".join(" ".join(lines).split())
    total = run_marks(view).figure
    assert "Marks out of ten" in text
    assert f"Total {total} out of ten" in text
    assert "the worst of 2" in text


def test_a_missing_criterion_says_how_far_it_could_move_the_total(tmp_path: Path) -> None:
    marks = run_marks(view_of(tmp_path, SCHEME, until="sweep/left//reference"))
    text = " ".join(" ".join(marks_text(marks)).split())
    assert "over 3 of 4 points of weight; what is missing could make it" in text
    record = marks_record(marks)
    assert record is not None
    assert record["weight_given"] == 3


def test_without_a_scheme_nothing_is_said(tmp_path: Path) -> None:
    view = view_of(tmp_path, "")
    assert "Marks" not in sheet_text(view.run)
    assert list(marks_text(run_marks(view))) == []
    assert marks_record(run_marks(view)) is None


def test_nothing_marked_is_no_total(tmp_path: Path) -> None:
    marks = run_marks(view_of(tmp_path, SCHEME, until="idle/left//rail_plus"))
    assert list(marks_text(marks))[-1] == " No total: nothing was found to mark"


def test_the_json_holds_the_total_and_each_criterion(tmp_path: Path) -> None:
    view = view_of(tmp_path, SCHEME)
    record = json.loads(json.dumps(run_record(view), allow_nan=False))
    marks = run_marks(view)
    assert marks.total is not None
    assert record["marks"]["total"] == pytest.approx(marks.total.value)
    assert [each["name"] for each in record["marks"]["criteria"]][1] == "Low end"
