"""A run at the pace of the processor: time that passes by itself, and no wait for the disk."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta


class Clock:
    """Five seconds from one look to the next."""

    def __init__(self) -> None:
        self.now = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=5)
        return self.now


@contextmanager
def no_disk() -> Iterator[None]:
    """Nothing is written through; what is measured is the program alone."""
    real = os.fsync
    os.fsync = lambda _: None
    try:
        yield
    finally:
        os.fsync = real
