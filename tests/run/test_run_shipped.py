"""What the shipped procedures keep shut, and leave open, where a bench could hurt somebody."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.cli.plans import rehearsal_plan
from stepwise.judge import Verdict
from stepwise.rehearsal import RehearsalBench
from stepwise.run import Run, Status
from tests.run.plans import Clock


@pytest.fixture
def first_look(tmp_path: Path) -> Iterator[Run]:
    with Run.start(rehearsal_plan("first-look"), tmp_path, Clock()) as run:
        yield run


def confirm_until(run: Run, key: str) -> None:
    """Say yes to all that is to be confirmed, up to a prompt."""
    while (prompt := run.next_prompt()) is not None and prompt.key != key:
        assert prompt.kind == "confirm", prompt.key
        run.take(prompt.key, "y")
    assert prompt is not None, f"{key} was never asked"


def keep_on(run: Run, bench: RehearsalBench) -> None:
    """Let the simulated bench answer until nothing is open."""
    while (prompt := run.next_prompt()) is not None and run.blocked() is None:
        text = bench.answer(prompt, run.card(prompt.key))
        if text is None:
            run.skip(prompt.key, "the bench cannot tell")
        else:
            run.take(prompt.key, text, sure=True)


@pytest.mark.parametrize("number", range(1, 10))
def test_no_power_before_the_look_over_is_so(first_look: Run, number: int) -> None:
    confirm_until(first_look, f"look-over///{number}")
    first_look.take(f"look-over///{number}", "n")
    blocked = first_look.blocked()
    assert blocked is not None
    assert blocked.key == f"look-over///{number}"
    opened = {each.step for each in first_look.prompts} - set(first_look.closed_steps())
    assert opened == {"make-safe", "look-over"}


def test_the_look_over_can_be_said_of_a_board_that_lacks_a_part(first_look: Run) -> None:
    asks = [each.ask for each in first_look.prompts if each.step == "look-over"]
    for part in ("Fuses", "Fan", "centre tap", "insulator", "No short"):
        ask = next(each for each in asks if part in each)
        assert "or there is none" in ask or "or there are none" in ask or "or none " in ask


@pytest.mark.parametrize("name", ["first-look", "quick-check", "after-repair", "thermal-soak"])
def test_a_negative_rail_too_near_the_reservoirs_rating_is_out_of_spec(
    name: str, tmp_path: Path
) -> None:
    with Run.start(rehearsal_plan(name), tmp_path, Clock()) as run:
        while (prompt := run.next_prompt()) is not None and prompt.point != "rail_minus":
            given = {"ohm": "1 k", "C": "21", "mV": "5", "V": "35"}
            typed = "0.2" if prompt.point == "volts_before" else given.get(prompt.expected.unit, "")
            typed = "-35" if "minus" in prompt.point and typed == "35" else typed
            run.take(prompt.key, "y" if prompt.kind == "confirm" else typed, sure=True)
        assert prompt is not None
        run.take(prompt.key, "-49.2", sure=True)
        height = next(each for each in run.results() if each.name == "rail_minus_height")
        assert height.judgement.verdict is Verdict.OUT_OF_SPEC
        assert run.review().verdict is Verdict.OUT_OF_SPEC


def test_an_output_that_stays_connected_keeps_loudspeakers_off(first_look: Run) -> None:
    plan = first_look.plan
    bench = RehearsalBench(1, plan.unit, plan.bench, [("late-protection", 1.0)])
    keep_on(first_look, bench)
    assert first_look.closed_steps()["listen"] == "protection///1"
    assert first_look.is_complete(), "the rest is asked, and the board made dead"
    assert {"make-dead///1", "dead-volts///rail_plus_dead"} <= first_look.state.answers.keys()
    outcome = first_look.take("listen///1", "y")
    assert outcome.status is Status.REFUSED


LIVE_FROM = {
    "first-look": "first-power",
    "after-repair": "lamp",
    "quick-check": "quiescent",
    "thermal-soak": "cold",
}
"""The first step of each that has the board switched on."""


@pytest.mark.parametrize("name", LIVE_FROM)
def test_every_hold_point_with_a_live_board_leaves_open_what_makes_it_dead(
    name: str, tmp_path: Path
) -> None:
    with Run.start(rehearsal_plan(name), tmp_path, Clock()) as run:
        steps = [step.id for step in run.plan.procedure.steps]
        live = steps[steps.index(LIVE_FROM[name]) : steps.index("make-dead")]
        holding = [each for each in run.prompts if each.hold and each.step in live]
        for prompt in holding:
            if not prompt.hold_for:
                assert prompt.hold_except == ("make-dead", "dead-volts"), prompt.key
            else:
                assert not {"make-dead", "dead-volts"} & set(prompt.hold_for), prompt.key


def test_a_bright_lamp_leads_to_a_board_that_is_made_dead(first_look: Run) -> None:
    confirm_until(first_look, "first-power///2")
    outcome = first_look.take("first-power///2", "n")
    assert outcome.is_led
    assert outcome.next_key == "make-dead///1"
    for key in ("make-dead///1", "make-dead///2", "make-dead///3", "make-dead///4"):
        outcome = first_look.take(key, "y")
        assert not outcome.is_led
    assert outcome.next_key == "dead-volts///rail_plus_dead"
    for key in ("dead-volts///rail_plus_dead", "dead-volts///rail_minus_dead"):
        assert first_look.blocked() is None
        first_look.take(key, "0.2")
    blocked = first_look.blocked()
    assert blocked is not None
    assert blocked.key == "first-power///2"


def test_a_board_that_was_mended_and_tested_on_is_made_dead_once_more(first_look: Run) -> None:
    plan = first_look.plan
    keep_on(first_look, RehearsalBench(1, plan.unit, plan.bench, [("harmful-offset", 1.0)]))
    blocked = first_look.blocked()
    assert blocked is not None
    assert blocked.key == "quiescent/right//offset"
    assert "dead-volts///rail_minus_dead" in first_look.state.answers, "the stop left that open"
    first_look.take(blocked.key, "5", sure=True)
    keep_on(first_look, RehearsalBench(1, plan.unit, plan.bench))
    assert first_look.is_complete()
    last_live = first_look.state.answers["clip/right/4 ohm/level"].seq
    for prompt in first_look.prompts:
        if prompt.step in ("make-dead", "dead-volts"):
            assert first_look.state.answers[prompt.key].seq > last_live, prompt.key


def test_a_word_corrected_at_the_end_leaves_a_dead_board_dead(first_look: Run) -> None:
    plan = first_look.plan
    keep_on(first_look, RehearsalBench(1, plan.unit, plan.bench))
    first_look.take("clip/left/8 ohm/level", "20", sure=True)
    assert first_look.is_complete()
