"""A board that is of no use, or half tested, has no green stamp in any form of a report."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from stepwise.cli import main
from stepwise.report import (
    build_report,
    html_page,
    markdown_page,
    notes_text,
    run_record,
    sheet_text,
    talk_text,
)
from stepwise.run import Run, RunView, plan_from_texts, read_run
from stepwise.tui.screens.review_text import review_content
from tests.run.plans import BENCH, PROCEDURE, UNIT, Clock, answer_for

SHORT = PROCEDURE[: PROCEDURE.index("[step.limits]")].replace(', hold = ["listen"]', "")
"""Rails and offset have limits; the power that is asked last has none."""


def board_of(logs: Path, level: str | None = None, most: int = 999) -> RunView:
    """A run that asks for no power: with this clean level, and so many answers at the most."""
    plan = plan_from_texts(SHORT, UNIT, BENCH, "try")
    with Run.start(plan, logs, Clock()) as run:
        for _ in range(most):
            prompt = run.next_prompt()
            if prompt is None:
                break
            typed = answer_for(prompt.point)
            if level is not None and prompt.point == "level":
                typed = level
            run.take(prompt.key, typed, sure=True)
        run.end()
        folder = run.folder
    return read_run(folder)


def forms(view: RunView) -> dict[str, str]:
    report = build_report(view)
    return {
        "html": html_page(report).replace("\u00a0", " "),
        "markdown": markdown_page(report),
        "text": sheet_text(view.run),
        "notes": notes_text(view),
        "talk": talk_text(view),
    }


def plate(page: str) -> str:
    found = re.search(r'<p class="plate (\w+)">.*?</p>', page)
    assert found is not None
    return found[0]


def test_a_useless_board_has_no_green_stamp(tmp_path: Path) -> None:
    view = board_of(tmp_path, "0.02")
    whole = view.run.review().conclusion
    assert whole.verdict == "in spec"
    assert whole.wrongs > 0
    said = forms(view)
    assert 'class="plate out"' in plate(said["html"])
    assert "▲" in plate(said["html"])
    assert said["markdown"].splitlines()[0] == f"# Teal: ▲ {whole.words}"
    for form, text in said.items():
        words = whole.words.capitalize() if form in ("html", "text") else whole.words
        assert words in " ".join(text.split()), form
    lead = re.search(r'<p class="lead">(.*?)</p>', said["html"])
    assert lead is not None
    assert lead[1].startswith("All ")
    assert f"are inside it, but {whole.beside}." in lead[1]
    assert run_record(view)["conclusion"] == whole.words
    assert run_record(view)["verdict"] == "in spec"


def test_the_review_screen_stamps_it_alike(tmp_path: Path) -> None:
    for view, mark, style in (
        (board_of(tmp_path, "0.02"), "▲", "$out-of-spec"),
        (board_of(tmp_path, most=5), "·", "$noted"),
        (board_of(tmp_path), "✓", "$in-spec"),
    ):
        review = view.run.review()
        shown = review_content(review, view.run.folder, 74)
        assert shown.plain.startswith(f"{mark} {review.conclusion.words.capitalize()}: ")
        assert str(shown.spans[0].style) == f"bold {style}"


def test_half_a_run_has_no_green_stamp(tmp_path: Path) -> None:
    view = board_of(tmp_path, most=5)
    whole = view.run.review().conclusion
    assert whole.words == "unfinished, in spec so far"
    said = forms(view)
    assert 'class="plate noted"' in plate(said["html"])
    assert "✓" not in plate(said["html"])
    assert said["markdown"].splitlines()[0] == "# Teal: · unfinished, in spec so far"
    assert " are inside it so far; the run is not finished, so more may follow." in said["html"]
    assert "Unfinished, in spec so far: " in said["text"]


def test_a_whole_good_run_keeps_its_stamp(tmp_path: Path) -> None:
    view = board_of(tmp_path)
    said = forms(view)
    assert 'class="plate in"' in plate(said["html"])
    assert said["markdown"].splitlines()[0] == "# Teal: ✓ in spec"
    assert "In spec: " in said["text"]


def test_lists_comparison_and_rank_say_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    views = [board_of(tmp_path, "0.02"), board_of(tmp_path, most=5)]
    words = [view.run.review().conclusion.words for view in views]
    asked = [
        ["logs"], ["rank", str(views[0].run.folder)],
        ["compare", *(str(view.run.folder) for view in views)], ["logs", "--json"],
    ]  # fmt: skip
    told = []
    for each in asked:
        main(["--logs", str(tmp_path), *each])
        told.append(" ".join(capsys.readouterr().out.split()))
    assert all(each in told[0] and each in told[2] for each in words)
    assert words[0] in told[1]
    rows = {row["name"]: row for row in json.loads(told[3])["logs"]}
    row = rows[views[0].run.folder.name]
    assert row["verdict"] == "in spec"
    assert row["wrongs"] == views[0].run.review().conclusion.wrongs
