"""The clock of an attended rehearsal: the real one, and what the simulated bench waits out."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta


class AttendedClock:
    """Real time, put ahead by what a person at a bench would have waited; never backwards."""

    def __init__(self, now: Callable[[], datetime], after: datetime | None = None) -> None:
        """Begin at the real time, or where a rehearsal that is carried on stopped.

        Args:
            now: The real clock.
            after: Last time of its journal; none (default) for a new one.
        """
        self._now = now
        began = now()
        self._ahead = timedelta(0) if after is None else max(after - began, timedelta(0))
        self._latest = began + self._ahead
        self._spent = self._latest

    def __call__(self) -> datetime:
        """The time that the journal gets."""
        self._latest = max(self._latest, self._now() + self._ahead)
        return self._latest

    def spend(self, seconds: float) -> None:
        """Let so much time have passed since the last of it was spent, real time included.

        Args:
            seconds: What looking at a prompt takes at a bench, with the rest before it [s].
        """
        short = self._spent + timedelta(seconds=seconds) - self()
        self._ahead += max(short, timedelta(0))
        self._spent = self()
