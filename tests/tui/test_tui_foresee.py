"""A reading is worked out while the hand rests, so that Enter finds it; a burst waits for nothing."""

from __future__ import annotations

import asyncio

import pytest
from hall import Hall, on_sheet, type_burst
from textual.pilot import Pilot

from stepwise.tui.screens import sheet
from stepwise.tui.session import Session
from stepwise.tui.widgets.echo import EchoLine

RESTING = 0.05


@pytest.fixture
def foreseen(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str | None, str]]:
    """What was worked out ahead: prompt and text."""
    seen: list[tuple[str | None, str]] = []
    foresee = Session.foresee

    def noting(session: Session, text: str) -> None:
        seen.append((session.key, text))
        foresee(session, text)

    monkeypatch.setattr(Session, "foresee", noting)
    monkeypatch.setattr(sheet, "_RESTING", RESTING)
    return seen


async def rest(foreseen: list[tuple[str | None, str]], text: str) -> None:
    """Hands off the keys until a text was worked out."""
    for _ in range(200):
        if foreseen and foreseen[-1][1] == text:
            return
        await asyncio.sleep(RESTING / 5)
    raise AssertionError(f"“{text}” is not worked out ahead, only {foreseen}")


def test_a_text_is_worked_out_once_the_hand_rests(
    hall: Hall, foreseen: list[tuple[str | None, str]]
) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy46")
        await rest(foreseen, "46")
        # 46 V is out of spec, and yet nothing says so before it is an answer
        assert run.line("idle///rail_plus") is None
        await type_burst(pilot, ".5")
        await rest(foreseen, "46.5")
        await type_burst(pilot, "⏎")
        assert run.line("idle///rail_plus").typed == "46.5"
        assert {key for key, _ in foreseen} == {"idle///rail_plus"}
        assert "kept" in str(pilot.app.screen.query_one(EchoLine).render())

    on_sheet(hall, run, act)


def test_nothing_is_worked_out_for_an_entry_that_is_empty_again(
    hall: Hall, foreseen: list[tuple[str | None, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheet, "_RESTING", 10 * RESTING)  # however slowly a burst is taken in

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy34⏎-34⏎7⌫")
        await asyncio.sleep(15 * RESTING)
        assert foreseen == []

    on_sheet(hall, hall.run(), act)


def test_remarks_reasons_and_commands_are_no_answers(
    hall: Hall, foreseen: list[tuple[str | None, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    run = hall.run()

    def never(*_: object) -> None:
        raise AssertionError("worked out what is no answer")

    monkeypatch.setattr(run, "foresee", never)

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy--")
        await rest(foreseen, "--")
        await type_burst(pilot, "⌫⌫")
        await pilot.press("ctrl+n")
        await type_burst(pilot, "34")
        await rest(foreseen, "34")

    on_sheet(hall, run, act)
