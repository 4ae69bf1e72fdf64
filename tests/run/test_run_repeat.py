"""`=` repeats a reading of the same thing, and never another that has its unit."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.run import Run, Status, plan_from_texts
from tests.run.plans import BENCH, PROCEDURE, UNIT, Clock, answer_for

LEVEL = "clip/left/8 ohm/level"
LOUD = "clip/left/8 ohm/level_at_ten_percent"
ALSO = 'also = ["secondary_volts", "rail_plus", "level_at_ten_percent"]'
TEXT = PROCEDURE.replace('also = ["rail_plus"]', ALSO).replace(
    'name = "offset", ask = "Offset",', 'name = "offset", ask = "Offset", times = 2,'
)


@pytest.fixture
def run(tmp_path: Path) -> Iterator[Run]:
    with Run.start(plan_from_texts(TEXT, UNIT, BENCH, "try"), tmp_path, Clock()) as begun:
        yield begun


def answer_until(run: Run, key: str) -> None:
    more = {
        "secondary_volts": "2.4 on 3 x10",
        "level_at_ten_percent": "2.1 on 3 x10",
        "offset/2": "12",
    }
    while (prompt := run.next_prompt()) is not None and prompt.key != key:
        raw = more.get(prompt.point, answer_for(prompt.point))
        run.take(prompt.key, raw, sure=True)


def test_the_secondary_is_not_repeated_as_the_output(run: Run) -> None:
    answer_until(run, LOUD)
    outcome = run.take(LOUD, "=")
    assert outcome.status is Status.REFUSED
    assert outcome.message.endswith(
        "There is no reading yet that “=” could repeat: it repeats an earlier reading of"
        " “Level where the tops are well flattened (10 %)”."
    )
    assert run.line(LOUD) is None


def test_a_level_repeats_the_same_level_of_another_pass(run: Run) -> None:
    answer_until(run, "clip/right/8 ohm/level_at_ten_percent")
    outcome = run.take("clip/right/8 ohm/level_at_ten_percent", "=", sure=True)
    assert outcome.status is Status.KEPT
    assert outcome.message == "read as 21.0 V RMS: the same as left · 4 Ω"


def test_a_reading_repeats_that_of_the_other_channel(run: Run) -> None:
    rail = "idle/right//rail_plus"
    answer_until(run, rail)
    assert run.take(rail, "=").message == "read as 35.0 V: the same as left"


def test_a_rail_under_load_is_no_repetition_of_an_idle_one(run: Run) -> None:
    answer_until(run, "clip/left/8 ohm/rail_plus")
    assert run.take("clip/left/8 ohm/rail_plus", "=").status is Status.REFUSED


def test_a_repetition_repeats_the_look_before_it(run: Run) -> None:
    answer_until(run, "idle/left//offset/2")
    outcome = run.take("idle/left//offset/2", "=")
    assert outcome.message == "read as 12 mV: the same as Offset, 1 of 2"


def test_a_level_of_a_sweep_repeats_one_of_a_sweep(run: Run) -> None:
    first, second = "sweep/left//100 Hz", "sweep/left//60 Hz"
    answer_until(run, first)
    refused = run.take(first, "=")
    assert refused.status is Status.REFUSED
    assert "it repeats an earlier level of a sweep." in refused.message
    run.take(first, "-0.5")
    assert run.take(second, "=").message == "read as -0.5 dB: the same as 100 Hz"


def test_the_reference_once_more_repeats_the_reference(run: Run) -> None:
    again = "sweep/left//reference_again"
    answer_until(run, again)
    outcome = run.take(again, "=")
    assert outcome.status is Status.KEPT
    assert outcome.message == "read as 2.0 V RMS: the same as Reference level"


def test_an_answer_taken_again_repeats_itself(run: Run) -> None:
    answer_until(run, "clip/left/8 ohm/secondary_volts")
    assert run.take(LEVEL, "=").message == "read as 19.0 V RMS: the same as before"
