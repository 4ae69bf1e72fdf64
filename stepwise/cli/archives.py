"""Which archive is meant, and what had to be done to open it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from stepwise.cli.printing import complain

if TYPE_CHECKING:
    from stepwise.archive import Archive, LogRow

T = TypeVar("T")


def use_archive(address: str | None, logs: Path, use: Callable[[Archive], T]) -> T:
    """Use the shared archive at an address, or the index of the logs where there is none.

    What had to be done to the index is said on the error output.

    Raises:
        ArchiveError: The archive cannot be used.
        JournalError: The folder of the logs cannot be listed.
    """
    from stepwise.archive import open_archive, with_local_archive

    if address is not None:
        with open_archive(address) as archive:
            return use(archive)
    given, notices = with_local_archive(logs, use)
    for notice in notices:
        complain(notice)
    return given


def state_words(row: LogRow) -> str:
    """What became of a log, as lists say it."""
    state = row.conclusion.listed if row.conclusion is not None else row.verdict
    if not row.ended:
        state = "" if not row.unit else f"unfinished, {row.answered} answered"
    marks = [mark for mark in ("rehearsal", "transcribed") if getattr(row, mark)]
    return ", ".join(part for part in (state, *marks, row.problem) if part)
