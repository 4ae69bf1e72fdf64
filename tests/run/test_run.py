"""The run: order, holds, corrections, skips, the tone, the end."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.errors import JournalError, JournalHeld, RunError
from stepwise.journal import read_journal
from stepwise.judge import Verdict
from stepwise.run import Run, Status, plan_from_texts, read_run
from tests.run.plans import BENCH, PROCEDURE, UNIT, Clock, plan, play


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def run(tmp_path: Path, clock: Clock) -> Iterator[Run]:
    with Run.start(plan(), tmp_path, clock, operator="QH", episode="new racks") as begun:
        yield begun


def test_a_run_goes_through_every_prompt_in_order(run: Run) -> None:
    keys = play(run)
    assert keys == [prompt.key for prompt in run.prompts]
    assert run.is_complete()
    assert run.next_prompt() is None


def test_channels_are_outermost_then_loads(run: Run) -> None:
    passes = list(dict.fromkeys(p.of.key for p in run.prompts if p.step == "clip"))
    assert passes == ["clip/left/8 ohm", "clip/left/4 ohm", "clip/right/8 ohm", "clip/right/4 ohm"]


def test_an_answer_is_on_disk_before_it_is_told(run: Run) -> None:
    outcome = run.take("safe///1", "y")
    assert outcome.status is Status.CONFIRMED
    assert read_journal(run.folder).events[-1].data["key"] == "safe///1"


def test_what_cannot_be_read_is_refused_and_not_recorded(run: Run) -> None:
    play(run, until="idle/left//rail_plus")
    before = len(read_journal(run.folder).events)
    outcome = run.take("idle/left//rail_plus", "35 ohm")
    assert outcome.status is Status.REFUSED
    assert "ohm" in outcome.message or "resistance" in outcome.message
    assert len(read_journal(run.folder).events) == before
    assert run.next_prompt().key == "idle/left//rail_plus"


def test_an_answer_to_a_prompt_that_is_not_there_is_an_error(run: Run) -> None:
    with pytest.raises(RunError, match="nothing called"):
        run.take("idle/left//rail", "35")


def test_later_steps_are_shut_until_the_hold_point_is_satisfied(run: Run) -> None:
    outcome = run.take("clip/left/8 ohm/level", "20")
    assert outcome.status is Status.REFUSED
    assert "hold point" in outcome.message


def test_a_hold_point_answered_with_no_is_asked_again(run: Run) -> None:
    assert run.take("safe///1", "n").status is Status.NOT_SO
    assert run.next_prompt().key == "safe///1"
    blocked = run.blocked()
    assert blocked is not None
    assert blocked.key == "safe///1"
    assert blocked.reason.startswith("Not so, so all that follows stays shut")
    run.take("safe///1", "y")
    assert run.blocked() is None
    assert run.next_prompt().key == "safe///2"
    run.take("safe///2", "y")
    assert run.next_prompt().key == "idle/left//rail_plus"


def test_an_item_that_is_not_so_shuts_the_rest_of_its_own_list(run: Run) -> None:
    run.take("safe///1", "n")
    refused = run.take("safe///2", "y")
    assert refused.status is Status.REFUSED
    assert refused.message == "Closed until the hold point “a” is satisfied"
    assert run.line("safe///2") is None
    assert run.skip("safe///2", "no time").status is Status.REFUSED


def test_an_item_cannot_be_confirmed_before_the_one_that_it_rests_on(run: Run) -> None:
    assert run.take("safe///2", "y").status is Status.REFUSED
    assert run.next_prompt().key == "safe///1"


def test_an_item_that_turns_out_not_so_closes_what_was_confirmed_after_it(run: Run) -> None:
    run.take("safe///1", "y")
    run.take("safe///2", "y")
    run.take("safe///1", "n")
    assert run.line("safe///2").closed
    assert run.next_prompt().key == "safe///1"
    run.take("safe///1", "y")
    assert not run.line("safe///2").closed
    assert run.next_prompt().key == "idle/left//rail_plus"


def test_a_list_that_holds_a_named_step_shuts_its_own_rest_and_the_run_goes_on(
    tmp_path: Path,
) -> None:
    named = PROCEDURE.replace("hold = true", 'hold = ["listen"]')
    with Run.start(plan_from_texts(named, UNIT, BENCH, "try"), tmp_path, Clock()) as run:
        run.take("safe///1", "n")
        assert run.take("safe///2", "y").status is Status.REFUSED
        assert run.next_prompt().key == "idle/left//rail_plus"
        assert "listen///1" not in play(run)
        assert run.is_complete()
        assert set(run.held_prompts()) == {"safe///2", "listen///1"}


def test_a_hold_point_cannot_be_skipped(run: Run) -> None:
    outcome = run.skip("safe///1", "no time")
    assert outcome.status is Status.REFUSED
    assert "cannot be skipped" in outcome.message


def test_a_reading_that_holds_a_named_step_closes_only_that_one(run: Run) -> None:
    play(run, until="idle/left//offset")
    run.take("idle/left//offset", "72")
    keys = play(run)
    assert "listen///1" not in keys
    assert "clip/left/8 ohm/level" in keys
    assert run.closed_steps() == {"listen": "idle/left//offset"}
    assert run.is_complete()
    assert run.review().closed_steps == {"listen": "Offset"}


def test_correcting_a_hold_point_closes_what_it_holds(run: Run) -> None:
    play(run)
    assert run.line("listen///1").closed is False
    outcome = run.take("idle/right//offset", "300")
    assert [flag.name for flag in outcome.flags] == ["dc-offset"]
    assert run.line("listen///1").closed is True
    assert run.take("listen///1", "y").status is Status.REFUSED


def test_a_correction_keeps_the_old_reading_and_judges_again(run: Run) -> None:
    play(run)
    before = {r.key or r.name: r.value for r in run.results() if r.channel == "left"}
    outcome = run.take("clip/left/8 ohm/level", "1.0 on 3 x10")
    changed = {result.name for result in outcome.results}
    assert {"level", "power", "channel_balance"} <= changed
    assert run.line("clip/left/8 ohm/level").corrected
    history = run.state.history["clip/left/8 ohm/level"]
    assert [each.typed for each in history] == ["1.9 on 3 x10", "1.0 on 3 x10"]
    after = {r.key or r.name: r.value for r in run.results() if r.channel == "left"}
    assert after["clip/left/8 ohm/level"] == pytest.approx(10.0)
    assert before["clip/left/8 ohm/level"] == pytest.approx(19.0)


def test_a_skip_needs_a_reason(run: Run) -> None:
    play(run, until="idle/left//rail_plus")
    assert run.skip("idle/left//rail_plus").status is Status.REFUSED
    outcome = run.skip("idle/left//rail_plus", "no probe long enough")
    assert outcome.status is Status.SKIPPED
    assert outcome.line.verdict is Verdict.SKIPPED
    assert outcome.line.remark == "no probe long enough"
    assert [line.key for line in run.review().skipped] == ["idle/left//rail_plus"]


def test_equals_repeats_the_last_reading_of_that_kind(run: Run) -> None:
    play(run, until="idle/right//rail_plus")
    outcome = run.take("idle/right//rail_plus", "=")
    assert outcome.status is Status.KEPT
    assert outcome.line.as_read.startswith("35.0")


def test_volts_in_a_sweep_are_read_against_its_reference(run: Run) -> None:
    play(run, until="sweep/left//100 Hz")
    outcome = run.take("sweep/left//100 Hz", "1.0 on 3")
    assert outcome.line.as_read.startswith("-6.0")


def test_the_sweep_level_follows_from_the_clean_level(run: Run) -> None:
    play(run, until="sweep/left//reference")
    settings = {each.what: each.to for each in run.card("sweep/left//reference").settings}
    # 10 dB below 19 V is 6.0 V.
    assert settings["level"] == "about 6.0 V RMS at 1 kHz"


def test_a_tone_that_stays_on_too_long_is_flagged(run: Run, clock: Clock) -> None:
    play(run, until="clip/left/8 ohm/level")
    run.take("clip/left/8 ohm/level", "19")
    clock.advance(40.0)
    tone = run.tone_clock()
    assert tone.on
    assert tone.over == pytest.approx(25.0)
    outcome = run.take("clip/left/8 ohm/rail_plus", "33.0")
    assert "tone-too-long" in [flag.name for flag in run.flags()]
    assert outcome.status is Status.KEPT
    rest = run.tone_clock()
    assert not rest.on
    assert rest.allowed == 30.0


def test_the_person_may_say_when_the_tone_goes_on_and_off(run: Run, clock: Clock) -> None:
    play(run, until="clip/left/8 ohm/level")
    run.tone(on=True)
    clock.advance(10.0)
    assert run.tone_clock().since == pytest.approx(10.0)
    run.tone(on=False)
    clock.advance(100.0)
    assert not run.tone_clock().on
    assert "tone-too-long" not in [flag.name for flag in run.flags()]


def test_a_tone_that_is_switched_on_again_is_on_again(run: Run, clock: Clock) -> None:
    play(run, until="clip/left/8 ohm/level")
    run.tone(on=True)
    clock.advance(20.0)
    run.tone(on=False)
    clock.advance(60.0)
    run.tone(on=True)
    clock.advance(10.0)
    tone = run.tone_clock()
    assert tone.on
    assert tone.since == pytest.approx(10.0)
    run.tone(on=False)
    # The first time was too long, whatever came after.
    assert "tone-too-long" in [flag.name for flag in run.flags()]


def test_a_tone_that_was_never_on_goes_on_with_the_first_reading(run: Run, clock: Clock) -> None:
    play(run, until="clip/left/8 ohm/level")
    run.tone(on=False)
    clock.advance(30.0)
    run.take("clip/left/8 ohm/level", "19")
    clock.advance(5.0)
    assert run.tone_clock().on
    assert run.tone_clock().since == pytest.approx(5.0)


def test_a_remark_is_kept(run: Run) -> None:
    run.note("hums when touched", "safe///1")
    assert [note.text for note in run.review().notes] == ["hums when touched"]


def test_the_end_is_recorded_and_can_be_taken_back(tmp_path: Path, clock: Clock) -> None:
    with Run.start(plan(), tmp_path, clock) as run:
        play(run)
        review = run.end("tidy board")
        assert run.ended
        assert run.take("safe///1", "y").status is Status.REFUSED
        folder = run.folder
    assert review.verdict is Verdict.OUT_OF_SPEC
    assert review.complete
    with Run.resume(folder, clock) as again:
        assert not again.ended
        assert again.take("sweep/left//20 Hz", "-2.5").status is Status.KEPT


def test_resuming_gives_back_exactly_what_was_there(tmp_path: Path, clock: Clock) -> None:
    with Run.start(plan(), tmp_path, clock) as run:
        play(run, until="sweep/left//20 Hz")
        sheet, results, flags = run.sheet(), run.results(), run.flags()
        folder = run.folder
    with Run.resume(folder, clock) as again:
        assert again.sheet() == sheet
        assert again.results() == results
        assert again.flags() == flags
        assert again.next_prompt().key == "sweep/left//20 Hz"


def test_two_programs_cannot_write_one_log(run: Run, clock: Clock) -> None:
    with pytest.raises(JournalHeld):
        Run.resume(run.folder, clock)


def test_what_was_shown_is_recorded_beside_the_answer(run: Run) -> None:
    play(run)
    levels = [
        event.data["shown"]["results"]
        for event in read_journal(run.folder).events
        if event.data.get("key") == "clip/left/8 ohm/level"
    ]
    power = next(each for each in levels[0] if each["name"] == "power")
    assert power["value"] == pytest.approx(19.0**2 / 8.06)


def test_a_reading_that_cannot_be_written_is_not_kept(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    play(run, until="idle/left//rail_plus")

    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr("os.write", full)
        with pytest.raises(JournalError):
            run.take("idle/left//rail_plus", "35.0")
    assert run.line("idle/left//rail_plus") is None
    outcome = run.take("idle/left//rail_plus", "36.0")
    assert outcome.line.as_read.startswith("36.00")


def test_a_tone_switched_at_a_square_wave_belongs_to_its_pass(tmp_path: Path, clock: Clock) -> None:
    from stepwise.run import plan_from_texts
    from tests.run.plans import BENCH, UNIT

    square = """
[procedure]
title = "Square"
revision = 1
summary = "s"
[[step]]
id = "square"
kind = "square"
title = "Square waves"
on_time = "15 s"
looks = [{ tone = "10 kHz", capacitor = "100 nF", look_for = ["overshoot"] }]
"""
    with Run.start(plan_from_texts(square, UNIT, BENCH), tmp_path, clock) as run:
        run.tone(on=True)
        clock.advance(20.0)
        tone = run.tone_clock()
        assert tone is not None
        assert tone.on
        assert tone.over == pytest.approx(5.0)


def test_a_flag_that_comes_with_the_tone_is_told_beside_it_in_the_journal(tmp_path: Path) -> None:
    clock = Clock()
    with Run.start(plan(), tmp_path, clock) as run:
        play(run, until="clip/left/8 ohm/level")
        run.tone(True)
        clock.advance(40.0)
        run.tone(False)
        assert [flag.name for flag in run.flags()] == ["tone-too-long"]
        on, off = read_journal(run.folder).events[-2:]
        assert "shown" not in on.data
        assert [flag["flag"] for flag in off.data["shown"]["flags"]] == ["tone-too-long"]
        run.take("clip/left/8 ohm/level", "1.9 on 3 x10")
        (shown,) = (event.data["shown"] for event in read_journal(run.folder).events[-1:])
        assert shown["flags"] == []


def test_the_end_keeps_also_the_flags_that_waited_for_a_reading(tmp_path: Path) -> None:
    text = PROCEDURE.replace('also = ["rail_plus"]', 'also = ["rail_plus", "level_at_ten_percent"]')
    with Run.start(plan_from_texts(text, UNIT, BENCH, "try"), tmp_path, Clock()) as run:
        play(run, until="clip/left/8 ohm/level_at_ten_percent")
        run.take("clip/left/8 ohm/level_at_ten_percent", "2.2 on 3 x10", sure=True)
        play(run, until="clip/left/4 ohm/level")
        run.take("clip/left/4 ohm/level", "1.0 on 3 x10", sure=True)
        assert "claim-not-met" not in {flag.name for flag in run.flags()}
        run.end()
        assert "claim-not-met" in {flag.name for flag in run.flags()}
        kept = run.state.ended["closing"]["flags"]
        assert [flag["flag"] for flag in kept] == [flag.name for flag in run.flags()]


def test_a_tone_that_was_left_on_is_told_where_the_run_is_carried_on(tmp_path: Path) -> None:
    clock = Clock()
    with Run.start(plan(), tmp_path, clock) as run:
        play(run, until="clip/left/8 ohm/level")
        run.tone(True)
    clock.advance(3600.0)
    with Run.resume(run.folder, clock) as again:
        assert [flag.name for flag in again.flags()] == ["tone-too-long"]
        (event,) = read_journal(again.folder).events[-1:]
        assert (event.kind, [each["flag"] for each in event.data["shown"]["flags"]]) == (
            "resume",
            ["tone-too-long"],
        )


def test_what_is_made_of_a_journal_goes_by_its_last_event_not_by_the_clock(tmp_path: Path) -> None:
    clock = Clock()
    with Run.start(plan(), tmp_path, clock) as run:
        play(run, until="clip/left/8 ohm/level")
        run.tone(True)
        clock.advance(10.0)
        run.note("it hums")
        clock.advance(60.0)
        assert run.take("clip/left/8 ohm/level", "190").status is Status.DOUBTED
        assert run.flags() == ()
        assert read_run(run.folder).run.flags() == ()
