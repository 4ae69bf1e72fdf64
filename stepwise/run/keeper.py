"""What a run asks of the store of its events: a journal, or one that is only read."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Protocol

from stepwise.journal import Event


class Keeper(Protocol):
    """What a run asks of its journal."""

    @property
    def path(self) -> Path:
        """The journal's file."""
        ...

    @property
    def events(self) -> tuple[Event, ...]:
        """All events so far."""
        ...

    @property
    def set_aside(self) -> Path | None:
        """Where a torn last line was put."""
        ...

    def append(self, kind: str, data: Mapping[str, object], at: datetime) -> Event:
        """Put an event on disk."""
        ...

    def close(self) -> None:
        """Let go of the file."""
        ...
