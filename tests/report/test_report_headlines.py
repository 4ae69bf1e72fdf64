"""The top of a report: one figure has one verdict, and nothing that failed is left out."""

from __future__ import annotations

from pathlib import Path

import pytest

from stepwise.judge import Verdict
from stepwise.quantities import dotted, with_signs
from stepwise.report import (
    build_report,
    html_page,
    markdown_page,
    notes_text,
    sheet_text,
    talk_text,
)
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
    assert key.judgement.words == words
    for page in (html_page(made).replace("\u00a0", " "), markdown_page(made)):
        assert words in page
    cells = [line[69:].strip() for line in sheet_text(view.run).splitlines()]
    first = cells.index(f"{chance * 100:.0f} % likely")
    assert cells[first - 2 : first + 2] == ["too close", "to call,", cells[first], "in spec"]
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


TEN = UNIT.replace('power = "60 W"', 'power = "60 W"\ndistortion = "10 %"')


def said_of_the_claim(logs: Path, also: str, loud: str) -> tuple[str, str]:
    """The sentence of the talk, and what stands beside the clean power: a claim at 10 %."""
    procedure = PROCEDURE.replace('also = ["rail_plus"]', f'also = ["rail_plus"{also}]')
    with Run.start(plan_from_texts(procedure, TEN, BENCH, "try"), logs, Clock()) as run:
        while (prompt := run.next_prompt()) is not None:
            typed = {"level": "1.40 on 3 x10", "level_at_ten_percent": loud}.get(prompt.point)
            run.take(prompt.key, typed or answer_for(prompt.point), sure=True)
        folder = run.folder
    view = read_run(folder)
    (key,) = [each for each in build_report(view).keys if each.label == "Clean power, 4 Ω"]
    assert key.judgement is not None
    assert key.judgement.verdict is Verdict.NOTED
    (said,) = [line for line in talk_text(view).splitlines() if "The seller says" in line]
    return said, key.note


# 14 V into 4 ohm is 49 W clean; 60 W are claimed at 10 %.
@pytest.mark.parametrize(
    ("loud", "spoken", "note"),
    [
        ("1.85 on 3 x10", "and it keeps that.", "in spec"),
        ("1.42 on 3 x10", "and it does not get there.", "out of spec"),
    ],
)
def test_the_talk_and_the_key_figure_judge_a_claim_at_ten_percent_there(
    tmp_path: Path, loud: str, spoken: str, note: str
) -> None:
    said, beside = said_of_the_claim(tmp_path, ', "level_at_ten_percent"', loud)
    assert said.endswith(spoken)
    assert beside.endswith(f"claimed 60 W at 10 %: {note}")


def test_a_claim_at_ten_percent_that_was_not_read_there_is_said_not_to_be_judged(
    tmp_path: Path,
) -> None:
    said, beside = said_of_the_claim(tmp_path, "", "")
    assert said == (
        "The seller says 60 watts at 10 per cent distortion, which could not be judged: "
        "the level there was not read."
    )
    assert beside.endswith("claimed 60 W at 10 %: not judged")
