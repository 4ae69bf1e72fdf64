"""A probable slip on the sheet: only three answers settle it, and nothing typed ahead is one."""

from __future__ import annotations

import pytest
from hall import Hall, on_sheet, type_burst
from textual.pilot import Pilot

from stepwise.judge.slips import Slip
from stepwise.run import Outcome, Run, Status
from stepwise.tui.reply import Mode
from stepwise.tui.session import Session
from stepwise.tui.widgets.card import CardBody

TEN_TIMES = Slip(
    "multiplier", "340 V is ten times what the other rail shows: a decimal point?", "34.0", "34 V"
)
NOBODY_KNOWS = Slip("repeated", "The same line came twice.")
PLUS = "idle///rail_plus"


def doubting(run: Run, monkeypatch: pytest.MonkeyPatch, slip: Slip) -> None:
    """Let the run doubt the text 340 and nothing else."""
    take = run.take

    def careful(key: str, raw: str, *, sure: bool = False) -> Outcome:
        if raw.strip() == "340" and not sure:
            return Outcome(Status.DOUBTED, key, slip.says, next_key=key, doubt=slip)
        return take(key, raw, sure=True)

    monkeypatch.setattr(run, "take", careful)


def as_typed(run: Run) -> dict[str, str]:
    return {line.key: line.typed for line in run.sheet() if line.step == "idle"}


def test_a_slip_is_asked_about_and_nothing_is_kept_meanwhile(
    hall: Hall, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = hall.run()
    doubting(run, monkeypatch, TEN_TIMES)

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy340⏎")
        assert session.mode is Mode.DOUBT
        assert as_typed(run) == {}
        card = str(pilot.app.screen.query_one(CardBody).render())
        assert TEN_TIMES.says in " ".join(card.split())
        assert "take it as 34 V" in card

    on_sheet(hall, run, act)


@pytest.mark.parametrize(
    ("answer", "kept"), [("+⏎", {PLUS: "340"}), ("*⏎", {PLUS: "34.0"}), ("-⏎33⏎", {PLUS: "33"}),
                         ("⎋33⏎", {PLUS: "33"})],
)  # fmt: skip
def test_three_answers_settle_a_doubt(
    hall: Hall, monkeypatch: pytest.MonkeyPatch, answer: str, kept: dict[str, str]
) -> None:
    run = hall.run()
    doubting(run, monkeypatch, TEN_TIMES)

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy340⏎" + answer)
        assert as_typed(run) == kept
        assert session.mode is Mode.ANSWER
        assert session.key == "idle///rail_minus"

    on_sheet(hall, run, act)


def test_readings_typed_ahead_of_a_doubt_land_nowhere(
    hall: Hall, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = hall.run()
    doubting(run, monkeypatch, TEN_TIMES)

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy340⏎-34.1⏎3.5⏎⏎")
        assert as_typed(run) == {}
        assert session.mode is Mode.DOUBT
        assert "Settle the doubt first" in str(pilot.app.screen.query_one("#echo").render())

    on_sheet(hall, run, act)


def test_what_nobody_can_know_is_not_offered(hall: Hall, monkeypatch: pytest.MonkeyPatch) -> None:
    run = hall.run()
    doubting(run, monkeypatch, NOBODY_KNOWS)

    async def act(pilot: Pilot[None], session: Session) -> None:
        await type_burst(pilot, "yy340⏎*⏎")
        assert as_typed(run) == {}
        assert session.mode is Mode.DOUBT
        await type_burst(pilot, "+⏎")
        assert as_typed(run) == {PLUS: "340"}

    on_sheet(hall, run, act)
