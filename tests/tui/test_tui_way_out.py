"""A hold point with a live board, on the sheet: where to go stands there at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from hall import Hall, on_sheet, type_burst
from textual.pilot import Pilot

from stepwise.run import Run, plan_from_texts
from stepwise.tui.reply import Mode
from stepwise.tui.session import Session
from tests.run.plans import BENCH, UNIT, Clock
from tests.run.test_run_hold_except import PROCEDURE

SIZES = ((80, 24), (100, 30))


@pytest.fixture
def live(tmp_path: Path) -> Run:
    return Run.start(plan_from_texts(PROCEDURE, UNIT, BENCH, "live"), tmp_path, Clock())


def shown(pilot: Pilot[None]) -> str:
    """All text on the glass."""
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


@pytest.mark.parametrize("size", SIZES)
def test_what_to_do_now_stands_on_the_glass(hall: Hall, live: Run, size: tuple[int, int]) -> None:
    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yn")
        glass = shown(pilot)
        assert "Not so: now “Make it dead”; all else stays shut" in glass
        assert "Make it dead ·" in glass
        assert "Off at the wall?" in glass
        assert "-- Enter takes the hold point again" not in glass
        await type_burst(pilot, "y")
        assert "Not so: now “Make it dead”" in shown(pilot), "it stands until it is done"
        await type_burst(pilot, "y0.3⏎")
        assert session.mode is Mode.SHUT
        assert session.key == "lamp///2"

    on_sheet(hall, live, act, size)


def test_nothing_typed_ahead_says_that_the_board_is_dead(hall: Hall, live: Run) -> None:
    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "ynyyy")
        assert session.key == "dead///1"
        assert set(live.state.answers) == {"lamp///1", "lamp///2"}
        await type_burst(pilot, "yy")
        assert session.key == "proof///rail_plus_dead"

    on_sheet(hall, live, act)


def test_who_was_led_away_by_a_slip_of_the_hand_takes_the_item_again(hall: Hall, live: Run) -> None:
    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yn--⏎yy")
        assert session.key == "idle///offset"
        assert session.standing_hint() == ""

    on_sheet(hall, live, act)
