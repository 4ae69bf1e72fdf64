from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stepwise.journal import Event, Journal

START = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)


def instant(seq: int) -> datetime:
    return START + timedelta(seconds=20 * seq)


@pytest.fixture(scope="session")
def at() -> Callable[[int], datetime]:
    """When the event of that number happens."""
    return instant


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An empty folder for a log."""
    made = tmp_path / "log"
    made.mkdir()
    return made


@pytest.fixture
def fill(folder: Path) -> Callable[[int], tuple[Event, ...]]:
    """Write a journal of so many events into `folder`."""

    def write(count: int) -> tuple[Event, ...]:
        with Journal.create(folder) as journal:
            journal.append("begin", {"unit": "Teal", "operator": "QH"}, instant(1))
            for seq in range(2, count + 1):
                data = {"key": f"level/A/{seq}", "typed": "2.0 on 3 x10", "value": 20 + seq / 8}
                journal.append("reading", data, instant(seq))
            return journal.events

    return write
