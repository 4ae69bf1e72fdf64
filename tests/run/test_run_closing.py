"""Stop flags close what would do harm, say so, and open it again when they are gone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.judge import Flag, Severity
from stepwise.report import sheet_text
from stepwise.run import Run, Status, plan_from_texts
from stepwise.run.closing import closed_by_flags, loudspeaker_steps
from tests.run.plans import BENCH, PROCEDURE, UNIT, Clock, play

SQUARE = """\
[[step]]
id = "ring"
kind = "square"
title = "With a capacitor"
looks = [
 { tone = "10 kHz", look_for = ["overshoot"] },
 { tone = "10 kHz", capacitor = "100 nF", look_for = ["ringing_cycles"] },
]
[[step]]
id = "ring-on"
kind = "square"
title = "With another"
looks = [{ tone = "10 kHz", capacitor = "220 nF", look_for = ["ringing_cycles"] }]
[step.limits]
ringing_cycles = { max = "5" }
[[step]]
id = "last"
kind = "confirm"
title = "Last"
items = ["off"]
"""
ENDLESS = "ring///10 kHz/100 nF/ringing_cycles"
OTHER = "ring-on///10 kHz/220 nF/ringing_cycles"


def flag(*closes: str, keys: tuple[str, ...] = (), **more: object) -> Flag:
    """A stop flag that closes something."""
    return Flag(
        "fire", Severity.STOP, "clip", None, None, "It burns.", (), (), "Off.",
        keys=keys, closes=closes, **more,
    )  # fmt: skip


@pytest.fixture
def run(tmp_path: Path) -> Iterator[Run]:
    with Run.start(
        plan_from_texts(PROCEDURE + SQUARE, UNIT, BENCH, "try"), tmp_path, Clock()
    ) as begun:
        yield begun


def test_what_each_word_closes(run: Run) -> None:
    def steps(*closes: str) -> set[str]:
        closed = closed_by_flags([flag(*closes)], run.prompts)
        return {run.prompt(key).step for key in closed}

    assert steps("tone") == {"clip", "sweep", "ring", "ring-on"}
    assert steps("loudspeaker") == {"listen"}
    assert set(closed_by_flags([flag("capacitor")], run.prompts)) == {ENDLESS, OTHER}
    assert steps() == set()
    assert loudspeaker_steps(run.prompts) == {"listen"}


def test_what_a_flag_rests_on_stays_open_under_every_flag(run: Run) -> None:
    level = "clip/left/8 ohm/level"
    closed = closed_by_flags([flag("tone", keys=(level,)), flag("tone")], run.prompts)
    assert level not in closed
    assert "clip/left/4 ohm/level" in closed


def test_only_a_stop_flag_closes(run: Run) -> None:
    wrong = Flag("odd", Severity.WRONG, "clip", None, None, "Odd.", (), (), "Look.",
                 closes=("tone",))  # fmt: skip
    assert closed_by_flags([wrong], run.prompts) == {}


def test_endless_ringing_closes_capacitors_until_it_is_gone(run: Run) -> None:
    play(run, until=ENDLESS)
    outcome = run.take(ENDLESS, "20")
    stop = next(each for each in outcome.flags if each.severity is Severity.STOP)
    assert "capacitor" in stop.closes
    refused = run.take(OTHER, "3")
    assert refused.status is Status.REFUSED
    assert stop.name in refused.message
    assert run.skip(OTHER, "why not").status is Status.REFUSED
    assert run.closed_prompts()[OTHER] == refused.message
    # What does no harm goes on; then the run says what it waits for.
    assert run.next_prompt().key == "last///1"
    assert run.blocked() is None
    assert run.review().closed_prompts == {OTHER: refused.message}
    assert stop.name in sheet_text(run)
    run.take("last///1", "y")
    blocked = run.blocked()
    assert blocked is not None
    assert blocked.key == run.next_prompt().key == ENDLESS
    assert blocked.reason.startswith("Stop: ")
    assert not run.is_complete()
    mended = run.take(ENDLESS, "2")
    assert stop.name in [each.name for each in mended.cleared]
    assert run.closed_prompts() == {}
    assert run.blocked() is None
    assert run.take(OTHER, "3").status is Status.KEPT
    assert run.is_complete()


def test_what_was_answered_stays_answered(run: Run) -> None:
    play(run)
    run.take(ENDLESS, "20")
    assert run.line(OTHER) is not None
    assert run.line(OTHER).closed
    assert run.is_complete()


def test_a_flag_that_is_resumed_closes_the_same(run: Run) -> None:
    play(run, until=ENDLESS)
    run.take(ENDLESS, "20")
    closed = run.closed_prompts()
    run.close()
    with Run.resume(run.folder, Clock()) as again:
        assert again.closed_prompts() == closed
        assert again.take(OTHER, "3").status is Status.REFUSED


def test_an_offset_that_harms_keeps_loudspeakers_off_and_does_not_block(run: Run) -> None:
    play(run, until="idle/left//offset")
    outcome = run.take("idle/left//offset", "1500")
    assert [each.closes for each in outcome.flags] == [("loudspeaker",)]
    play(run)
    assert set(run.closed_prompts()) == {"listen///1"}
    assert run.is_complete()
