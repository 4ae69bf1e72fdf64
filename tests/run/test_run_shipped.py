"""What the shipped procedures keep shut, and leave open, where a bench could hurt somebody."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.cli.plans import rehearsal_plan
from stepwise.run import Run
from tests.run.plans import Clock


@pytest.fixture
def first_look(tmp_path: Path) -> Iterator[Run]:
    with Run.start(rehearsal_plan("first-look"), tmp_path, Clock()) as run:
        yield run


def confirm_until(run: Run, key: str) -> None:
    """Say yes to all that is to be confirmed, up to a prompt."""
    while (prompt := run.next_prompt()) is not None and prompt.key != key:
        assert prompt.kind == "confirm", prompt.key
        run.take(prompt.key, "y")
    assert prompt is not None, f"{key} was never asked"


@pytest.mark.parametrize("number", range(1, 10))
def test_no_power_before_the_look_over_is_so(first_look: Run, number: int) -> None:
    confirm_until(first_look, f"look-over///{number}")
    first_look.take(f"look-over///{number}", "n")
    blocked = first_look.blocked()
    assert blocked is not None
    assert blocked.key == f"look-over///{number}"
    opened = {each.step for each in first_look.prompts} - set(first_look.closed_steps())
    assert opened == {"make-safe", "look-over"}


def test_the_look_over_can_be_said_of_a_board_that_lacks_a_part(first_look: Run) -> None:
    asks = [each.ask for each in first_look.prompts if each.step == "look-over"]
    for part in ("Fuses", "Fan", "centre tap", "insulator", "No short"):
        ask = next(each for each in asks if part in each)
        assert "or there is none" in ask or "or there are none" in ask or "or none " in ask
