"""Files attached on the sheet: a photograph is kept, a capture answers once it was looked at."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hall import Hall, on_sheet, type_burst
from textual.pilot import Pilot
from textual.widgets import Input, Static

from stepwise.tui.screens.attach import AttachScreen, ProposalScreen
from stepwise.tui.session import Session

CLIP = "clip//8 ohm/level"


@pytest.fixture
def sine(tmp_path: Path) -> Path:
    """1 kHz of 28 V peak: 19.8 V RMS."""
    rows = (f"{n * 1e-5:.5f},{28 * math.sin(2e-2 * math.pi * n):.4f}" for n in range(500))
    path = tmp_path / "clip.csv"
    path.write_text("time,volts\ns,V\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


async def attach(pilot: Pilot[None], path: Path) -> None:
    await pilot.press("ctrl+e")
    await pilot.pause()
    screen = pilot.app.screen
    assert isinstance(screen, AttachScreen)
    screen.query_one(Input).value = str(path)
    await pilot.press("enter")
    await pilot.pause()


def test_a_photograph_is_kept_with_the_line_in_hand(hall: Hall, tmp_path: Path) -> None:
    run = hall.run()
    photo = tmp_path / "board.jpg"
    photo.write_bytes(b"\xff\xd8")

    async def act(pilot: Pilot[None], session: Session) -> None:
        await attach(pilot, photo)
        (kept,) = run.state.attachments
        assert (run.folder / kept.name).read_bytes() == b"\xff\xd8"
        assert "is kept" in str(pilot.app.screen.query_one("#echo", Static).render())

    on_sheet(hall, run, act, (100, 30))


def test_a_file_that_is_not_there_is_told_and_asked_again(hall: Hall, tmp_path: Path) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], session: Session) -> None:
        await attach(pilot, tmp_path / "nothing")
        screen = pilot.app.screen
        assert isinstance(screen, AttachScreen)
        assert "There is no file" in str(screen.query_one("#attach-said", Static).render())

    on_sheet(hall, run, act, (100, 30))


@pytest.mark.parametrize(("key", "is_taken"), [("y", True), ("n", False)])
def test_a_capture_answers_only_after_it_was_looked_at(
    hall: Hall, sine: Path, key: str, is_taken: bool
) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy34.0⏎-34.1⏎/⏎")
        assert session.key == CLIP
        await attach(pilot, sine)
        assert isinstance(pilot.app.screen, ProposalScreen)
        assert run.line(CLIP) is None
        await pilot.press(key)
        await pilot.pause()
        line = run.line(CLIP)
        assert (line is not None) is is_taken
        if line is not None:
            assert "19.8" in line.as_read
        assert len(run.state.attachments) == 1

    on_sheet(hall, run, act, (100, 30))


@pytest.mark.parametrize(("key", "left"), [("y", ""), ("n", "46")])
def test_what_is_half_typed_stays_only_where_no_capture_answers_in_its_place(
    hall: Hall, sine: Path, key: str, left: str
) -> None:
    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy34.0⏎-34.1⏎/⏎46")
        await attach(pilot, sine)
        await pilot.press(key)
        await pilot.pause()
        assert pilot.app.screen.query_one("#entry", Input).value == left
        assert (session.key == CLIP) is bool(left)

    on_sheet(hall, hall.run(), act, (100, 30))


def test_what_is_no_capture_is_refused_with_its_line(hall: Hall, tmp_path: Path) -> None:
    run = hall.run()
    path = tmp_path / "notes.csv"
    path.write_text("shopping\nbread\n", encoding="utf-8")

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy34.0⏎-34.1⏎/⏎")
        await attach(pilot, path)
        said = str(pilot.app.screen.query_one("#echo", Static).render())
        assert "Not attached" in said
        assert not run.state.attachments

    on_sheet(hall, run, act, (100, 30))
