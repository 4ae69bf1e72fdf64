"""Opening a database: SQLite in a file, or PostgreSQL by its URL."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect, select, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from stepwise.archive import tables
from stepwise.archive.errors import ArchiveDamaged, ArchiveError, told
from stepwise.archive.extras import install_words

_OURS = 0x57A2C41E
"""Mark of our SQLite files, so that another program's file is never taken for an index."""
_POSTGRESQL = "postgresql"
_DRIVER = "postgresql+psycopg"
_LOCK = 0x57A2C41E
"""Number of the lock under which PostgreSQL is written to, by one bench at a time."""
_BY_LETTERS = {
    "stepwise_log_words": ("words",),
    "stepwise_log_parts": ("unit_words", "episode_words", "flag_words"),
}
"""Indexes of PostgreSQL by three letters in a row, with their columns."""
_TAKE_LOCK = text("SELECT pg_advisory_xact_lock(:lock)")

_WORDS = (
    "CREATE VIRTUAL TABLE IF NOT EXISTS stepwise_words USING fts5("
    "words, content='stepwise_log', content_rowid='id', tokenize='trigram')",
    "CREATE TRIGGER IF NOT EXISTS stepwise_words_in AFTER INSERT ON stepwise_log BEGIN "
    "INSERT INTO stepwise_words(rowid, words) VALUES (new.id, new.words); END",
    "CREATE TRIGGER IF NOT EXISTS stepwise_words_out AFTER DELETE ON stepwise_log BEGIN "
    "INSERT INTO stepwise_words(stepwise_words, rowid, words) "
    "VALUES ('delete', old.id, old.words); END",
)
"""Text search of SQLite: every three letters in a row are indexed, parts of words are found."""


def file_engine(path: Path | None) -> Engine:
    """SQLite in a file, or in memory where there is none; made where it is missing.

    Raises:
        ArchiveDamaged: The file is no index of ours.
        ArchiveError: It cannot be read or written.
    """
    place = str(path) if path is not None else "in memory"
    url = URL.create("sqlite", database=str(path) if path is not None else None)
    engine = create_engine(url)
    event.listen(engine, "connect", _prepare)
    try:
        with told(place), engine.begin() as connection:
            _begin_file(connection, place)
    except ArchiveError:
        engine.dispose()
        raise
    return engine


def server_engine(address: str) -> Engine:
    """PostgreSQL by its URL; the tables are made where they are missing.

    Raises:
        ArchiveError: The address is none, the server cannot be reached, or its tables are of
            another version.
    """
    try:
        url = make_url(address)
    except (ArgumentError, ValueError):  # the latter of a port that is no number
        shown = address.rpartition("@")[2]  # what stands before may hold a password
        raise ArchiveError(shown, "is no address; write postgresql://user@host/name") from None
    place = url.render_as_string(hide_password=True)
    if url.get_backend_name() != _POSTGRESQL:
        raise ArchiveError(place, "must be on PostgreSQL; write postgresql://user@host/name")
    engine = _server(url, place)
    try:
        with told(place), engine.begin() as connection:
            connection.execute(_TAKE_LOCK, {"lock": _LOCK})
            tables.TABLES.create_all(connection)
            _check_form(connection, place, ArchiveError)
        _index_words(engine)
    except ArchiveError:
        engine.dispose()
        raise
    return engine


def _server(url: URL, place: str) -> Engine:
    try:
        return create_engine(url.set(drivername=_DRIVER))
    except ModuleNotFoundError:
        reason = f"PostgreSQL needs its driver; {install_words('server')}"
        raise ArchiveError(place, reason) from None


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that nobody else writes beside, so that two programs may bring in one log."""
    with engine.begin() as connection:
        if engine.dialect.name == "sqlite":
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        else:
            connection.execute(_TAKE_LOCK, {"lock": _LOCK})
        yield connection


def has_words(connection: Connection) -> bool:
    """Whether SQLite's text search is there."""
    return inspect(connection).has_table("stepwise_words")


def _prepare(connection: Any, _: object) -> None:
    """An index that can be made again need not wait for the disk at every commit."""
    cursor = connection.cursor()
    pragmas = (
        "foreign_keys = ON", "synchronous = NORMAL", "cache_size = -65536",
        "wal_autocheckpoint = 8000",
    )  # fmt: skip
    for pragma in pragmas:
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin_file(connection: Connection, place: str) -> None:
    mark = connection.execute(text("PRAGMA application_id")).scalar_one()
    used = connection.execute(text("SELECT count(*) FROM sqlite_master")).scalar_one()
    if used and mark != _OURS:
        raise ArchiveDamaged(place, "the file belongs to another program")
    if used:
        _check_form(connection, place, ArchiveDamaged)
        return
    connection.execute(text("PRAGMA journal_mode = WAL"))
    connection.execute(text(f"PRAGMA application_id = {_OURS}"))
    tables.TABLES.create_all(connection)
    try:
        for statement in _WORDS:
            connection.execute(text(statement))
    except DBAPIError as error:
        # An SQLite without it searches more slowly; anything else is told.
        if "fts5" not in str(error.orig) and "tokenizer" not in str(error.orig):
            raise
    _check_form(connection, place, ArchiveDamaged)


def _check_form(connection: Connection, place: str, wrong: type[ArchiveError]) -> None:
    found = connection.execute(select(tables.form.c.form)).scalars().all()
    if not found:
        connection.execute(tables.form.insert().values(form=tables.FORM))
    elif found != [tables.FORM]:
        raise wrong(place, f"its form is {found[0]}, this version reads form {tables.FORM}")


def _index_words(engine: Engine) -> None:
    """Let PostgreSQL search by three letters in a row, where it has the extension for that."""
    try:
        with engine.begin() as connection:
            if connection.execute(text("SELECT to_regclass('stepwise_log_parts')")).scalar():
                return
            connection.execute(text("CREATE EXTENSION IF NOT EXISTS pg_trgm"))
            for name, columns in _BY_LETTERS.items():
                keys = ", ".join(f"{column} gin_trgm_ops" for column in columns)
                connection.execute(
                    text(f"CREATE INDEX IF NOT EXISTS {name} ON stepwise_log USING gin ({keys})")
                )
    except DBAPIError:
        return  # without the extension, or the right to bring it in, rows are gone through
