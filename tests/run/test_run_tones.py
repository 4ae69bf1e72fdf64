"""The tone's clock: on while a pass still asks for the tone, whatever is optional in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.cli.plans import rehearsal_plan
from stepwise.rehearsal import RehearsalBench
from stepwise.run import Run, ToneClock
from tests.run.plans import Clock

CLIP, NEXT_CLIP = "clip/left/8 ohm", "clip/left/4 ohm"
GAIN = "output-impedance/left/"


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def run(tmp_path: Path, clock: Clock) -> Iterator[Run]:
    with Run.start(rehearsal_plan("first-look"), tmp_path, clock) as begun:
        yield begun


def go_to(run: Run, key: str) -> None:
    """Let the bench answer up to a prompt."""
    plan = run.plan
    bench = RehearsalBench(1, plan.unit, plan.bench)
    while (prompt := run.next_prompt()) is not None and prompt.key != key:
        text = bench.answer(prompt, run.card(prompt.key))
        if text is None:
            run.skip(prompt.key, "the bench cannot tell")
        else:
            run.take(prompt.key, text, sure=True)
    assert prompt is not None


def read_the_clip_step(run: Run, clock: Clock) -> None:
    """Four readings, three seconds each, up to the optional 10 % level."""
    points = ("level", "secondary_volts", "rail_plus", "rail_minus")
    for point, text in zip(points, ("19", "23", "33", "-33"), strict=True):
        clock.advance(3.0)
        run.take(f"{CLIP}/{point}", text, sure=True)
    prompt = run.next_prompt()
    assert prompt is not None
    assert prompt.key == f"{CLIP}/level_at_ten_percent"
    assert prompt.optional


def now(run: Run) -> ToneClock:
    told = run.tone_clock()
    assert told is not None
    return told


def tone_flags(run: Run) -> list[str]:
    return [flag.says for flag in run.flags() if flag.name == "tone-too-long"]


def test_a_tone_that_was_said_to_be_on_is_on_at_an_optional_reading(run: Run, clock: Clock) -> None:
    go_to(run, f"{CLIP}/level")
    run.tone(on=True)
    read_the_clip_step(run, clock)
    clock.advance(1.0)
    assert now(run).on
    assert now(run).since == pytest.approx(13.0)
    assert now(run).allowed == 15.0


def test_it_is_off_when_it_is_said_to_be_off(run: Run, clock: Clock) -> None:
    go_to(run, f"{CLIP}/level")
    run.tone(on=True)
    read_the_clip_step(run, clock)
    run.tone(on=False)
    clock.advance(60.0)
    assert not now(run).on
    run.skip(f"{CLIP}/level_at_ten_percent")
    assert not tone_flags(run)
    assert now(run).allowed == 30.0
    assert now(run).over == pytest.approx(30.0), "it has rested since it was switched off"


def test_it_counts_as_off_once_all_of_the_pass_is_answered_or_skipped(
    run: Run, clock: Clock
) -> None:
    go_to(run, f"{CLIP}/level")
    run.tone(on=True)
    read_the_clip_step(run, clock)
    clock.advance(2.0)
    run.skip(f"{CLIP}/level_at_ten_percent")
    assert not tone_flags(run)
    clock.advance(10.0)
    assert not now(run).on
    assert now(run).since == pytest.approx(10.0)


def test_one_that_stays_on_too_long_says_so_while_it_does(run: Run, clock: Clock) -> None:
    go_to(run, f"{CLIP}/level")
    run.tone(on=True)
    read_the_clip_step(run, clock)
    clock.advance(18.0)
    assert now(run).over == pytest.approx(15.0)
    run.note("the meter fell over")
    assert tone_flags(run) == ["The tone has been on for 30 s."]
    run.take(f"{CLIP}/level_at_ten_percent", "20", sure=True)
    assert tone_flags(run) == ["The tone was on for 30 s."]


def test_one_that_nobody_spoke_of_is_on_as_well_and_ends_with_the_last_reading(
    run: Run, clock: Clock
) -> None:
    go_to(run, f"{CLIP}/level")
    read_the_clip_step(run, clock)
    clock.advance(4.0)
    assert now(run).on
    assert now(run).since == pytest.approx(13.0)
    run.skip(f"{CLIP}/level_at_ten_percent")
    assert now(run).since == pytest.approx(4.0), "turned down when the last was read"


def test_the_gain_step_keeps_the_tone_after_the_input_level_was_left_out(
    run: Run, clock: Clock
) -> None:
    go_to(run, f"{GAIN}/input_level")
    run.tone(on=True)
    clock.advance(5.0)
    run.skip(f"{GAIN}/input_level")
    for point, text in (("level_open", "2.00"), ("level_8", "1.99"), ("level_4", "1.98")):
        clock.advance(5.0)
        run.take(f"{GAIN}/{point}", text, sure=True)
        assert now(run).on
    assert now(run).since == pytest.approx(20.0)
    clock.advance(10.0)
    run.skip(f"{GAIN}/undriven_level")
    clock.advance(1.0)
    assert not now(run).on


def test_the_next_pass_ends_the_tone_of_the_one_before(run: Run, clock: Clock) -> None:
    go_to(run, f"{CLIP}/level")
    run.tone(on=True)
    read_the_clip_step(run, clock)
    clock.advance(40.0)
    run.take(f"{NEXT_CLIP}/level", "18", sure=True)
    assert tone_flags(run) == []
    clock = run.tone_clock(f"{CLIP}/level_at_ten_percent")
    assert clock is not None
    assert not clock.on


def test_a_tone_left_on_after_its_pass_ends_where_the_next_begins(run: Run, clock: Clock) -> None:
    go_to(run, f"{CLIP}/level")
    read_the_clip_step(run, clock)
    run.skip(f"{CLIP}/level_at_ten_percent")
    run.tone(on=True, key=f"{CLIP}/level")
    clock.advance(20.0)
    told = run.tone_clock(f"{CLIP}/level")
    assert told is not None
    assert told.on
    run.take(f"{NEXT_CLIP}/level", "18", sure=True)
    assert tone_flags(run) == ["The tone was on for 20 s."]


def test_the_end_of_the_run_ends_the_tone(run: Run, clock: Clock) -> None:
    go_to(run, f"{CLIP}/level")
    run.tone(on=True)
    read_the_clip_step(run, clock)
    clock.advance(500.0)
    run.end()
    assert not tone_flags(run)
    told = run.tone_clock(f"{CLIP}/level")
    assert told is not None
    assert not told.on
