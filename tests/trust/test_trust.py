"""The harnesses at short length; each prints its counts when run as a script at full length."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.trust import damaging, failing, fuzzing, keeping, resting, walking


def test_a_disk_that_fails_loses_nothing_that_was_told_as_kept(tmp_path: Path) -> None:
    chance = random.Random(5)
    tally = failing.Tally()
    faults = chance.sample([*failing.every_fault(6)], 60)
    for number, fault in enumerate(faults):
        folder = tmp_path / str(number)
        folder.mkdir()
        failing.play(fault, folder, tally)
    assert tally.plays == 60
    assert tally.told > 100
    assert tally.refused > 10


def test_every_damage_is_found_and_what_came_before_stays_readable(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    came = damaging.hunt(150, 3, tmp_path)
    assert {each.partition(":")[0] for each in came} == {m.__name__ for m in damaging.MUTATIONS}


def test_random_walks_over_the_screens_leave_a_journal_that_is_the_run() -> None:
    came = walking.hunt(3, 11)
    assert came["begin"] == 3
    assert came["reading"] + came["confirm"] > 5


def test_a_run_that_keeps_what_it_worked_out_is_one_that_keeps_nothing() -> None:
    came = keeping.hunt(2, 25, 11) + keeping.hunt(2, 25, 12)
    assert came["moves"] == 100
    assert min(came[each] for each in ("thoughts", "  kept", "  not kept", "skip", "correct")) > 0


def test_screens_that_work_ahead_while_a_hand_rests_are_screens_that_do_not() -> None:
    came = resting.hunt(1, 12, 11)
    assert came["rests"] > 0
    assert came["events"] > 10


@pytest.mark.parametrize(
    ("door", "inputs"),
    [("notation", 3000), ("procedure", 60), ("unit", 200), ("bench", 200), ("readings", 300),
     ("capture", 300), ("journal", 100), ("events", 25)],
)  # fmt: skip
def test_anything_at_all_is_let_in_or_refused_with_a_sentence(
    tmp_path: Path, door: str, inputs: int
) -> None:
    let_in, refused = fuzzing.blind(door, inputs, 20, tmp_path)
    assert let_in + refused == inputs
    assert refused
