"""A confirming key that is held down answers one item; pressed again or typed ahead, each."""

from __future__ import annotations

import pytest
from hall import SMALL, Hall, on_sheet, said, type_at, typed
from textual.pilot import Pilot

from stepwise.tui.session import Session
from stepwise.tui.widgets.entry import ReadingEntry

LONG_LIST = SMALL.replace(
    '"Loudspeakers off, loads on"', '"Loudspeakers off", "One hand", "No rings"'
)


@pytest.mark.parametrize("key", ["y", "+"])
@pytest.mark.parametrize("apart", [0.025, 0.03, 0.05, 0.09])
def test_a_key_that_is_held_down_confirms_one_item(hall: Hall, key: str, apart: float) -> None:
    hall.procedure = LONG_LIST
    run = hall.run()

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_at(pilot, key * 14, 10.0, apart)
        assert typed(run) == [("safe///1", "y")]
        assert f"{key} is held down: let go, read the question, press it again" in said(pilot)
        assert pilot.app.screen.query_one(ReadingEntry).value == ""
        # still down, though two of its repeats were delivered together
        await type_at(pilot, key * 2, 10.0 + 13 * apart, 0.002)
        assert typed(run) == [("safe///1", "y")]
        await type_at(pilot, key, 12.0)
        assert typed(run) == [("safe///1", "y"), ("safe///2", "y")]

    on_sheet(hall, run, act)


@pytest.mark.parametrize("apart", [0.0, 0.005, 0.12, 0.5])
def test_a_key_pressed_again_or_typed_ahead_confirms_each_time(hall: Hall, apart: float) -> None:
    hall.procedure = LONG_LIST
    run = hall.run()

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_at(pilot, "yyyy", 10.0, apart)
        assert typed(run) == [(f"safe///{item}", "y") for item in range(1, 5)]

    on_sheet(hall, run, act)


def test_another_key_in_between_is_no_key_held_down(hall: Hall) -> None:
    hall.procedure = LONG_LIST
    run = hall.run()

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_at(pilot, "y+y+", 10.0, 0.03)
        assert [key for key, _ in typed(run)] == [f"safe///{item}" for item in range(1, 5)]

    on_sheet(hall, run, act)
