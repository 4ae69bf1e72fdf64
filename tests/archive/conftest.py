"""An empty index on each database that the archive knows."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from stepwise.archive import tables
from stepwise.archive.archive import Archive
from stepwise.archive.engine import file_engine, server_engine
from tests.archive.postgres import server


@pytest.fixture(scope="session")
def database_url() -> Iterator[str]:
    """A real PostgreSQL server, started for the session and stopped after it."""
    with server() as url:
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def engine(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    if request.param == "sqlite":
        made = file_engine(tmp_path / "index.sqlite")
        yield made
        made.dispose()
        return
    url = request.getfixturevalue("database_url")
    made = server_engine(url)
    yield made
    tables.TABLES.drop_all(made)
    made.dispose()


@pytest.fixture
def archive(engine: Engine) -> Archive:
    return Archive(engine, "here")
