"""The top of a report: one figure has one verdict, and nothing that failed is left out."""

from __future__ import annotations

from pathlib import Path

import pytest

from stepwise.judge import Verdict
from stepwise.quantities import dotted, with_signs
from stepwise.report import build_report, html_page, markdown_page, notes_text
from stepwise.report.content import verdict_words
from stepwise.report.gist import gist_of
from stepwise.report.headlines import _too_close
from stepwise.report.words import shown_figure
from stepwise.run import Run, RunView, plan_from_texts, read_run
from tests.report.logs import rehearsed
from tests.run.plans import BENCH, PROCEDURE, UNIT, Clock, answer_for

SAG = """[step.limits]
sag = { max = "15 %" }
power = { min = "claimed_power" }
"""


def played(logs: Path, levels: dict[str, str], rails: dict[str, str], limits: str = "") -> RunView:
    """A run with the clean levels and the loaded rails of these channels and loads."""
    procedure = PROCEDURE
    if limits:
        procedure = procedure.replace('[step.limits]\npower = { min = "claimed_power" }\n', limits)
    plan = plan_from_texts(procedure, UNIT, BENCH, "try")
    with Run.start(plan, logs, Clock()) as run:
        while (prompt := run.next_prompt()) is not None:
            place = f"{prompt.of.channel} {prompt.of.load}"
            typed = answer_for(prompt.point)
            if prompt.of.step == "clip":
                given = {"level": levels, "rail_plus": rails}.get(prompt.point, {})
                typed = given.get(place, typed)
            run.take(prompt.key, typed, sure=True)
        folder = run.folder
    return read_run(folder)


# The claim is 60 W into 4 ohm: both channels are too close to call, not equally so.
CLOSE = {"left 4 ohm": "1.50 on 3 x10", "right 4 ohm": "1.475 on 3 x10"}


def test_a_figure_at_the_top_stands_with_its_own_verdict_and_likelihood(tmp_path: Path) -> None:
    view = played(tmp_path, CLOSE, {})
    made = build_report(view)
    powers = {
        result.channel: result
        for result in view.run.results()
        if result.name == "power" and result.load == "4 ohm"
    }
    assert {each.judgement.verdict for each in powers.values()} == {Verdict.TOO_CLOSE}
    assert powers["left"].judgement.probability != powers["right"].judgement.probability
    (key,) = [each for each in made.keys if each.label == "Clean power, 4 Ω"]
    assert key.figure == shown_figure(powers["right"])
    assert key.judgement == powers["right"].judgement
    assert key.note == "right channel · claimed 60 W"


def test_a_likelihood_says_what_it_is_of(tmp_path: Path) -> None:
    view = played(tmp_path, CLOSE, {})
    made = build_report(view)
    (key,) = [each for each in made.keys if each.label == "Clean power, 4 Ω"]
    assert key.judgement is not None
    chance = key.judgement.probability or 0.0
    words = f"too close to call, {chance * 100:.0f} % likely in spec"
    assert verdict_words(key.judgement) == words
    for page in (html_page(made).replace("\u00a0", " "), markdown_page(made)):
        assert words in page
    gist = gist_of(view.run, view.run.review())
    (close,) = _too_close(gist)
    assert f"(right · 4 Ω, {chance * 100:.0f} % likely in spec)" in close


def test_results_of_one_label_with_other_limits_are_not_held_against_one(tmp_path: Path) -> None:
    claims = UNIT + '[[claim]]\npower = "40 W"\nload = "8 ohm"\n'
    plan = plan_from_texts(PROCEDURE, claims, BENCH, "try")
    with Run.start(plan, tmp_path, Clock()) as run:
        while (prompt := run.next_prompt()) is not None:
            level = "1.0 on 3 x10" if prompt.point == "level" else answer_for(prompt.point)
            run.take(prompt.key, level, sure=True)
        folder = run.folder
    view = read_run(folder)
    said = " ".join((*build_report(view).points, notes_text(view)))
    missed = [each for each in view.run.results() if each.name == "power"]
    assert {each.judgement.verdict for each in missed} == {Verdict.OUT_OF_SPEC}
    for sentence in build_report(view).points:
        assert not ("8 Ω" in sentence and "60 W is wanted" in sentence)
    assert all(with_signs(each.load) in said for each in missed)


def assert_all_named(view: RunView) -> None:
    """Everything out of spec stands in the summary, by its label and its place."""
    made = build_report(view)
    missed = [each for each in view.run.results() if each.judgement.verdict is Verdict.OUT_OF_SPEC]
    assert missed
    assert len(made.points) <= 3
    notes = next(line for line in notes_text(view).splitlines() if line.startswith("Out of spec: "))
    for result in missed:
        place = dotted(result.channel, with_signs(result.load))
        naming = [each for each in made.points if result.label in each]
        assert any(place in each for each in naming), (result.label, place, made.points)
        assert result.label in notes
        assert place in notes


def test_a_failed_result_is_named_also_where_a_flag_stands_at_its_place(tmp_path: Path) -> None:
    # 35 V idle: 15.4 % of sag, and 23.5 % where a current limit raises a flag as well.
    rails = {"left 8 ohm": "29.6", "right 8 ohm": "29.6", "right 4 ohm": "26.4"}
    levels = {"left 4 ohm": "1.0 on 3 x10", "right 4 ohm": "1.7 on 3 x10"}
    view = played(tmp_path, levels, rails | {"left 4 ohm": "26.8"}, SAG)
    flagged = {(flag.channel, flag.load) for flag in view.run.flags() if flag.step == "clip"}
    assert ("left", "4 ohm") in flagged
    assert_all_named(view)


@pytest.mark.parametrize("fault", ["current-limit", "dried-coupling-capacitor", "weak-rail"])
def test_all_that_a_faulty_board_fails_is_named(tmp_path: Path, fault: str) -> None:
    assert_all_named(rehearsed(tmp_path, fault=fault))
