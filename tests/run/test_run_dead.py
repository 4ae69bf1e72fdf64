"""The proof that it is dead, in every shipped procedure that asks for it, and the end of its run."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.judge import Severity
from stepwise.procedure import find_procedure
from stepwise.run import Run, plan_from_texts, read_notes, transcribe
from tests.run.plans import BENCH, UNIT, Clock

DEAD = """\
[procedure]
title = "Dead"
revision = 1
summary = "dead"
[[step]]
id = "make-dead"
kind = "confirm"
title = "Make it dead"
hold = true
items = ["Unplugged", "Each reservoir discharged"]
[[step]]
id = "dead-volts"
kind = "readings"
title = "Proof"
hold = true
readings = [
 { name = "rail_plus_dead", ask = "Positive rail", unit = "V", meter = "dc", limit = { min = "-10 V", max = "10 V" } },
 { name = "rail_minus_dead", ask = "Negative rail", unit = "V", meter = "dc", limit = { min = "-10 V", max = "10 V" } },
]
"""
PLUS, MINUS = "dead-volts///rail_plus_dead", "dead-volts///rail_minus_dead"


@pytest.fixture
def run(tmp_path: Path) -> Iterator[Run]:
    with Run.start(plan_from_texts(DEAD, UNIT, BENCH, "dead"), tmp_path, Clock()) as begun:
        for number in (1, 2):
            begun.take(f"make-dead///{number}", "y")
        yield begun


def stops(run: Run) -> list[str]:
    return [flag.name for flag in run.flags() if flag.severity is Severity.STOP]


def noted(tmp_path: Path, procedure: str, name: str) -> Run:
    """What paper notes of a board come to that was never discharged."""
    text = (
        "step,channel,load,point,reading,note\n"
        "make-dead,,,2,y,\n"
        "dead-volts,,,rail_plus_dead,34 V,\n"
        "dead-volts,,,rail_minus_dead,-34 V,\n"
    )
    file = tmp_path / "notes.csv"
    file.write_text(text, encoding="utf-8")
    plan = plan_from_texts(procedure, UNIT, BENCH, name)
    return transcribe(plan, read_notes(file), tmp_path / "logs", Clock())


@pytest.mark.parametrize("name", ["first-look", "quick-check", "after-repair", "thermal-soak"])
def test_every_procedure_that_asks_stops_at_live_reservoirs(name: str, tmp_path: Path) -> None:
    with noted(tmp_path, find_procedure(name).read_text(encoding="utf-8"), name) as run:
        assert stops(run) == ["reservoirs-live"]
        assert "hold points not satisfied" in run.review().sentence


def test_both_confirmed_and_fourteen_volts_is_a_stop_that_names_the_contradiction(run: Run) -> None:
    outcome = run.take(PLUS, "14 V")
    (flag,) = [flag for flag in outcome.flags if flag.name == "reservoirs-live"]
    assert "though “Each reservoir discharged” was confirmed" in flag.says
    assert flag.keys == (PLUS, "make-dead///2")


def test_the_run_does_not_end_as_finished_while_the_last_hold_point_is_not_satisfied(
    run: Run,
) -> None:
    run.take(PLUS, "34 V")
    run.take(MINUS, "-34 V")
    assert stops(run) == ["reservoirs-live"]
    assert not run.is_complete()
    blocked = run.blocked()
    assert blocked is not None
    assert blocked.key == PLUS
    said = run.end().sentence
    assert said.endswith(
        "the run is not finished; hold points not satisfied: “Positive rail”, “Negative rail”"
    )


def test_discharged_again_and_read_again_it_is_finished(run: Run) -> None:
    run.take(PLUS, "34 V")
    run.take(MINUS, "0 V")
    run.take(PLUS, "0.4 V")
    assert stops(run) == []
    assert run.is_complete()
    assert run.blocked() is None
    assert "hold point" not in run.end().sentence
