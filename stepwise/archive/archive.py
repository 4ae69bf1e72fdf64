"""The archive: an index of logs in a database, derived from their journals."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine

from stepwise.archive.engine import writing
from stepwise.archive.entry_reader import read_entry
from stepwise.archive.errors import told
from stepwise.archive.export import Tidy
from stepwise.archive.find import find, orders
from stepwise.archive.keep import keep
from stepwise.archive.push import Pushed, push
from stepwise.archive.query import Found, Query
from stepwise.archive.rank import rank
from stepwise.archive.ranking import Ranking
from stepwise.archive.refresh import Refreshed, refresh
from stepwise.archive.tidy import tidy_rows


class Archive:
    """One index, open. Close it, or use it in a `with`."""

    def __init__(self, engine: Engine, place: str, logs: Path | None = None) -> None:
        self._engine = engine
        self.place = place
        """Where the index is, without a password."""
        self.logs = logs
        """The folder whose logs it holds; None for one that benches share."""
        self.notices: tuple[str, ...] = ()
        """What had to be done to open it, one sentence each."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def refresh(self) -> Refreshed:
        """Read the logs that are new or have changed; a shared archive has none of its own.

        Raises:
            JournalError: The folder of the logs cannot be listed.
            ArchiveError: The index cannot be written.
        """
        logs = self.logs
        if logs is None:
            return Refreshed(0, 0)
        with told(self.place):
            return refresh(self._engine, logs)

    def add(self, folder: Path) -> None:
        """Read one log and put it in.

        Raises:
            ArchiveError: The index cannot be written.
        """
        entry = read_entry(folder)
        with told(self.place), writing(self._engine) as connection:
            keep(connection, entry)

    def find(self, query: Query) -> Found:
        """The logs that a query asks for.

        Raises:
            QueryError: The query cannot be asked.
            ArchiveError: The index cannot be read.
        """
        with self._reading() as connection:
            return find(connection, query, self.logs)

    def orders(self) -> list[str]:
        """Everything that its logs can be sorted by.

        Raises:
            ArchiveError: The index cannot be read.
        """
        with self._reading() as connection:
            return orders(connection)

    def rank(self, identity: str) -> Ranking:
        """Where the unit of a log stands among all.

        Raises:
            ArchiveError: The log is not in the index, or that cannot be read.
        """
        with self._reading() as connection:
            return rank(connection, identity, self.logs)

    def tidy(self) -> Iterator[Tidy]:
        """Every result of every log, for other programs; the oldest log first.

        Raises:
            ArchiveError: The index cannot be read.
        """
        with self._reading() as connection:
            yield from tidy_rows(connection)

    def push(self, other: Archive) -> Pushed:
        """Copy to another archive what that lacks, or has in an earlier state.

        Raises:
            ArchiveError: Either cannot be read or written.
        """
        with told(other.place):
            return push(self._engine, other._engine)

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with told(self.place), self._engine.connect() as connection:
            yield connection
