"""Where the events of a run lie: in a journal, in a record that is only read, or nowhere yet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Protocol

from stepwise.errors import JournalError
from stepwise.journal import Event, Record


class EventStore(Protocol):
    """What a run asks of whatever holds its events; `Journal` is the one that keeps them."""

    set_aside: Path | None

    @property
    def path(self) -> Path:
        """The journal's file."""
        ...

    @property
    def events(self) -> tuple[Event, ...]:
        """All events so far."""
        ...

    def append(self, kind: str, data: Mapping[str, object], at: datetime) -> Event:
        """Add one event and give it back."""
        ...

    def close(self) -> None:
        """Let go of what is held."""
        ...


class ReadStore:
    """A journal that was read: nothing is locked, and nothing can be added."""

    def __init__(self, record: Record) -> None:
        self._record = record
        self.set_aside: Path | None = None

    @property
    def path(self) -> Path:
        """The journal's file."""
        return self._record.path

    @property
    def events(self) -> tuple[Event, ...]:
        """Everything before the first damage."""
        return self._record.events

    def append(self, kind: str, data: Mapping[str, object], at: datetime) -> Event:
        """Refuse.

        Raises:
            JournalError: Always.
        """
        raise JournalError(self.path, "the log was opened for reading, nothing can be added")

    def close(self) -> None:
        """Nothing is held."""


class ScratchStore:
    """Events that are tried and never kept, so that a whole table is checked before any of it."""

    def __init__(self) -> None:
        self._events: list[Event] = []
        self.set_aside: Path | None = None

    @property
    def path(self) -> Path:
        """No file."""
        return Path()

    @property
    def events(self) -> tuple[Event, ...]:
        """All events so far."""
        return tuple(self._events)

    def append(self, kind: str, data: Mapping[str, object], at: datetime) -> Event:
        """Add one event in memory only."""
        event = Event(len(self._events) + 1, at.isoformat(), kind, data)
        self._events.append(event)
        return event

    def close(self) -> None:
        """Nothing is held."""
