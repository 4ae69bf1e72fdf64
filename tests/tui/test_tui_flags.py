"""Flags on the sheet: evidence on one key, and the way to the reading to take again."""

from __future__ import annotations

import pytest
from hall import FIRST_LOOK, Hall, make_plan, on_sheet, type_burst
from textual.containers import VerticalScroll
from textual.pilot import Pilot
from textual.widgets import Static

from stepwise.run import Run
from stepwise.tui.screens.flags import FlagsScreen
from stepwise.tui.session import Session
from stepwise.tui.widgets.seen import StopBanner


@pytest.fixture
def run(hall: Hall) -> Run:
    """A first look up to an offset that would harm a loudspeaker."""
    run = Run.start(make_plan(FIRST_LOOK, "first-look"), hall.folder, hall.clock)
    while (prompt := run.next_prompt()) is not None and prompt.point != "offset":
        if prompt.expected.answer.value == "confirm":
            run.take(prompt.key, "y")
        else:
            volts = {"rail_plus": "34.0", "rail_minus": "-34.0"}.get(prompt.point, "25.5")
            run.take(prompt.key, volts, sure=True)
    assert prompt is not None
    run.take(prompt.key, "18 V", sure=True)
    return run


def test_a_stop_flag_cannot_be_missed_and_leaves_the_entry_in_sight(hall: Hall, run: Run) -> None:
    async def act(pilot: Pilot[None], session: Session) -> None:
        banner = pilot.app.screen.query_one(StopBanner)
        assert banner.display
        assert "STOP" in str(banner.render())
        entry = pilot.app.screen.query_one("#entry")
        assert not banner.region.overlaps(entry.region)

    on_sheet(hall, run, act)


def test_one_key_opens_the_evidence_and_enter_takes_the_reading_again(hall: Hall, run: Run) -> None:
    stop = run.flags()[0]
    assert stop.severity.value == "stop"

    async def act(pilot: Pilot[None], session: Session) -> None:
        await pilot.press("ctrl+f")
        screen = pilot.app.screen
        assert isinstance(screen, FlagsScreen)
        detail = str(screen.query_one("#flag-detail", Static).render())
        for each in session.seen[0].evidence:
            assert each.value in detail
        await pilot.press("enter")
        assert session.is_again
        assert session.key == next(key for key in session.seen[0].keys if run.line(key))
        await type_burst(pilot, "12 mV⏎")
        assert stop.identity not in {flag.identity for flag in run.flags()}

    on_sheet(hall, run, act)


def test_the_key_that_opened_the_flags_closes_them(hall: Hall, run: Run) -> None:
    async def act(pilot: Pilot[None], session: Session) -> None:
        before = session.key
        await pilot.press("ctrl+f", "ctrl+f")
        assert not isinstance(pilot.app.screen, FlagsScreen)
        assert session.key == before

    on_sheet(hall, run, act)


def test_a_flag_that_comes_with_the_tone_is_seen_at_once(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy34.0⏎-34.1⏎/⏎+⏎")
        hall.clock.pass_seconds(40.0)
        await type_burst(pilot, "+⏎")
        assert session.seen[0].name == "tone-too-long"
        assert "tone-too-long" in str(pilot.app.screen.query_one("#seen-text", Static).render())
        await type_burst(pilot, "1.9 on 3 x10⏎")
        assert "tone-too-long" in [flag.name for flag in session.seen]

    on_sheet(hall, run, act, (120, 30))


@pytest.mark.parametrize("size", [(60, 18), (80, 24), (100, 30)])
def test_the_keys_of_the_flags_and_all_evidence_can_be_seen(
    hall: Hall, run: Run, size: tuple[int, int]
) -> None:
    async def act(pilot: Pilot[None], session: Session) -> None:
        await pilot.press("ctrl+f")
        await pilot.pause()
        screen = pilot.app.screen
        inside = screen.query_one(".dialog").content_region
        keys, scroll = screen.query_one("#flag-keys"), screen.query_one(VerticalScroll)
        assert inside.contains_region(keys.region)
        assert inside.contains_region(scroll.region)
        assert not scroll.region.overlaps(keys.region)
        assert "takes" in str(screen.query_one("#flag-keys", Static).content)
        detail = screen.query_one("#flag-detail")
        for _ in range(detail.size.height // scroll.size.height + 1):
            await pilot.press("pagedown")
        await pilot.pause()
        assert detail.region.bottom <= scroll.region.bottom

    on_sheet(hall, run, act, size)
