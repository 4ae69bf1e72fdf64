"""Faults are noticed and good boards are not blamed: a small, seeded part of the benchmark."""

from __future__ import annotations

import pytest

from stepwise.rehearsal import FAULTS
from tests.benchmarks.detection import DEVELOPMENT, Task, good_tasks, is_right, look

SEED = DEVELOPMENT + 500
GOOD = 6


@pytest.mark.parametrize("name", list(FAULTS))
def test_a_fault_is_noticed_by_its_own_flag(name: str) -> None:
    fault = FAULTS[name]
    seen = look(Task(fault.procedure, SEED, ((name, fault.stated),)))
    assert is_right(fault, seen), seen.names


@pytest.mark.parametrize("task", good_tasks(SEED, GOOD), ids=lambda task: str(task.seed))
def test_a_good_board_is_not_blamed(task: Task) -> None:
    assert look(task).grave == ()
