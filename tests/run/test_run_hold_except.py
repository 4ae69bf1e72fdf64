"""A hold point with a live board: it shuts all that follows but what makes the board dead."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.judge import Flag, Severity
from stepwise.run import Run, Status, plan_from_texts, read_notes, read_run, transcribe
from stepwise.run.closing import closed_by_flags
from tests.run.plans import BENCH, UNIT, Clock

PROCEDURE = """\
[procedure]
title = "Live"
revision = 1
summary = "live"
[[step]]
id = "lamp"
kind = "confirm"
title = "Lamp"
hold = { except = ["dead", "proof"] }
items = ["Lamp in series", "It went dim", "Nothing smells"]
[[step]]
id = "idle"
kind = "readings"
title = "Idle"
readings = [
 { name = "offset", ask = "Offset", unit = "mV", meter = "dc", limit = { target = "0 mV", within = "50 mV" }, hold = { except = ["dead", "proof"] } },
 { name = "rail_plus", ask = "Positive rail", unit = "V", meter = "dc" },
]
[[step]]
id = "clip"
kind = "clip"
title = "Clip"
repeat = ["channel", "load"]
[[step]]
id = "dead"
kind = "confirm"
title = "Make it dead"
hold = true
items = ["Off at the wall", "Discharged"]
[[step]]
id = "proof"
kind = "readings"
title = "Proof"
hold = true
readings = [
 { name = "rail_plus_dead", ask = "Positive rail, off", unit = "V", meter = "dc", limit = { min = "-10 V", max = "10 V" } },
]
[[step]]
id = "marks"
kind = "note"
title = "Marks"
notes = [{ name = "remarks", ask = "Remarks" }]
"""
DIM, OFFSET = "lamp///2", "idle///offset"
OFF, DISCHARGED, PROOF = "dead///1", "dead///2", "proof///rail_plus_dead"
WAY_OUT = (OFF, DISCHARGED, PROOF)


@pytest.fixture
def run(tmp_path: Path) -> Iterator[Run]:
    with Run.start(plan_from_texts(PROCEDURE, UNIT, BENCH, "live"), tmp_path, Clock()) as begun:
        yield begun


def asked(run: Run) -> str | None:
    prompt = run.next_prompt()
    return prompt.key if prompt is not None else None


def answer(run: Run, **given: str) -> None:
    """Give answers by the places of their keys, each where it is what is asked."""
    for key, text in given.items():
        step, point = key.split("__")
        assert asked(run) == f"{step}///{point}"
        run.take(f"{step}///{point}", text)


def lamp_stays_bright(run: Run) -> None:
    answer(run, lamp__1="y", lamp__2="n")


def make_dead(run: Run) -> None:
    answer(run, dead__1="y", dead__2="y", proof__rail_plus_dead="0.3")


def test_an_item_that_is_not_so_leads_at_once_to_what_makes_the_board_dead(run: Run) -> None:
    lamp_stays_bright(run)
    assert asked(run) == OFF
    assert run.blocked() is None
    assert run.way_out() == "Not so: now “Make it dead”; all else stays shut"
    answer(run, dead__1="y", dead__2="y")
    assert run.way_out() == "Not so: now “Proof”; all else stays shut"


def test_everything_else_stays_shut_meanwhile_the_rest_of_its_own_list_too(run: Run) -> None:
    lamp_stays_bright(run)
    keys = {prompt.key for prompt in run.prompts}
    assert keys - run.closed_prompts().keys() == {"lamp///1", DIM, OFF}
    for key in ("lamp///3", OFFSET, "clip/left/8 ohm/level", "marks///remarks"):
        assert run.take(key, "y").status is Status.REFUSED
    assert set(run.closed_steps()) == {"idle", "clip", "proof", "marks"}


def test_once_the_board_is_dead_the_run_waits_at_the_hold_point(run: Run) -> None:
    lamp_stays_bright(run)
    make_dead(run)
    blocked = run.blocked()
    assert blocked is not None
    assert blocked.key == DIM
    assert not run.is_complete()
    assert run.way_out() == ""
    assert "“It went dim”" in run.review().sentence


def test_what_is_not_so_on_the_way_out_is_waited_for_first(run: Run) -> None:
    lamp_stays_bright(run)
    answer(run, dead__1="n")
    blocked = run.blocked()
    assert blocked is not None
    assert blocked.key == OFF, "not the lamp again, while the board is live"
    answer(run, dead__1="y", dead__2="y", proof__rail_plus_dead="34")
    blocked = run.blocked()
    assert blocked is not None
    assert blocked.key == PROOF


def test_whoever_takes_the_hold_point_again_makes_the_board_dead_again(run: Run) -> None:
    lamp_stays_bright(run)
    make_dead(run)
    answer(run, lamp__2="n")
    assert asked(run) == OFF, "it was switched on once more"
    assert PROOF in run.closed_prompts()
    make_dead(run)
    answer(run, lamp__2="y", lamp__3="y", idle__offset="5", idle__rail_plus="35")
    for prompt in run.prompts:
        if prompt.step == "clip":
            run.skip(prompt.key, "no time")
    assert asked(run) == OFF
    assert not run.is_complete()
    assert run.review().unanswered == 4, "three of them were answered, of a board that was off"
    make_dead(run)
    answer(run, marks__remarks="good")
    assert run.is_complete()


def test_a_reading_out_of_spec_leads_there_once_its_own_step_is_read(run: Run) -> None:
    answer(run, lamp__1="y", lamp__2="y", lamp__3="y", idle__offset="900", idle__rail_plus="35")
    assert asked(run) == OFF
    assert run.way_out() == "Out of spec: now “Make it dead”; all else stays shut"
    make_dead(run)
    blocked = run.blocked()
    assert blocked is not None
    assert blocked.key == OFFSET


def test_in_a_run_without_a_fault_the_way_out_has_its_place_at_the_end(run: Run) -> None:
    answer(run, lamp__1="y", lamp__2="y", lamp__3="y", idle__offset="5", idle__rail_plus="35")
    assert run.way_out() == ""
    assert asked(run) == "clip/left/8 ohm/level"


def test_the_journal_leads_to_the_same_place(run: Run) -> None:
    lamp_stays_bright(run)
    make_dead(run)
    answer(run, lamp__2="n", dead__1="y")
    again = read_run(run.folder).run
    assert again.next_prompt() == run.next_prompt()
    assert again.closed_prompts() == run.closed_prompts()
    assert again.way_out() == run.way_out() != ""


def test_paper_notes_may_come_in_any_order(tmp_path: Path) -> None:
    file = tmp_path / "notes.csv"
    file.write_text(
        "step,channel,load,point,reading,note\n"
        "dead,,,1,y,\ndead,,,2,y,\nproof,,,rail_plus_dead,0.2,\nidle,,,offset,5,\n",
        encoding="utf-8",
    )
    plan = plan_from_texts(PROCEDURE, UNIT, BENCH, "live")
    with transcribe(plan, read_notes(file), tmp_path / "logs", Clock()) as run:
        left_out = {line.key for line in run.review().skipped}
        assert not left_out & set(WAY_OUT)
        assert not run.review().unanswered


@pytest.mark.parametrize("name", ["tone", "capacitor", "loudspeaker"])
def test_no_stop_flag_shuts_the_way_out(run: Run, name: str) -> None:
    flag = Flag(
        "fire", Severity.STOP, "clip", None, None, "It burns.", (), (), "Off.", closes=(name,)
    )
    assert not closed_by_flags([flag], run.prompts).keys() & set(WAY_OUT)


@pytest.mark.parametrize("seed", range(12))
def test_no_run_ends_as_finished_with_a_board_that_was_live_last(seed: int, tmp_path: Path) -> None:
    chance = random.Random(seed)
    good = {"offset": "5", "rail_plus": "35", "level": "19", "rail_plus_dead": "0.3"}
    bad = {"offset": "900", "rail_plus_dead": "34"}
    plan = plan_from_texts(PROCEDURE, UNIT, BENCH, "live")
    finished = 0
    with Run.start(plan, tmp_path, Clock()) as run:
        for _ in range(150):
            prompt = run.next_prompt()
            if prompt is None or chance.random() < 0.05:
                prompt = chance.choice(run.prompts)
            is_good = chance.random() < 0.9
            texts = good if is_good else {**good, **bad}
            typed = texts.get(prompt.point, "y" if is_good or prompt.kind != "confirm" else "n")
            run.take(prompt.key, typed, sure=True)
            answers = run.state.answers
            live = [
                answers[key].seq for key in ("lamp///1", DIM, "lamp///3", OFFSET) if key in answers
            ]
            if run.is_complete():
                finished += 1
                assert min(answers[key].seq for key in WAY_OUT) > max(live)
            elif asked(run) in ("lamp///1", DIM, "lamp///3", OFFSET) and run.blocked() is not None:
                assert all(key in answers and answers[key].seq > max(live) for key in WAY_OUT)
    assert finished
