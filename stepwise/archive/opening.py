"""Opening an archive: the index of a folder of logs, or the one that several benches share.

The database comes in only when one of these is called.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from stepwise.archive.errors import ArchiveDamaged, ArchiveError, ArchiveUnwritable

if TYPE_CHECKING:
    from stepwise.archive.archive import Archive

INDEX_NAME = "archive.sqlite"
_ASIDE = "archive-set-aside"
T = TypeVar("T")


def open_archive(address: str) -> Archive:
    """Open an archive that benches share.

    Args:
        address: URL of a PostgreSQL database; its tables are made where they are missing.

    Raises:
        ArchiveError: It cannot be reached, or is of another version.
    """
    from stepwise.archive.archive import Archive
    from stepwise.archive.engine import server_engine

    engine = server_engine(address)
    return Archive(engine, engine.url.set(drivername="postgresql").render_as_string())


def local_archive(logs: Path) -> Archive:
    """Open the index of a folder of logs; it is made, or made anew, where that is needed.

    Args:
        logs: The folder; where nothing can be written into it, the index is kept in memory.

    Raises:
        ArchiveError: The index can neither be opened nor made anew.
    """
    from stepwise.archive.archive import Archive
    from stepwise.archive.engine import file_engine

    path = logs / INDEX_NAME
    if not logs.is_dir():
        return Archive(file_engine(None), "in memory", logs)
    try:
        return Archive(file_engine(path), str(path), logs)
    except ArchiveDamaged as damage:
        return _anew(path, logs, damage)
    except ArchiveError as error:
        return _in_memory(logs, error)


def with_local_archive(logs: Path, use: Callable[[Archive], T]) -> tuple[T, tuple[str, ...]]:
    """Use the index of a folder of logs, brought up to date; a broken one is made anew.

    Args:
        logs: The folder.
        use: What is done with it; done again from the beginning if the index proves broken.

    Returns:
        What `use` gives, and what had to be done to the index, one sentence each.

    Raises:
        ArchiveError: The index cannot be used.
        JournalError: The folder of the logs cannot be listed.
    """
    archive = local_archive(logs)
    try:
        try:
            archive.refresh()
        except ArchiveUnwritable as error:
            archive.close()
            archive = _in_memory(logs, error)
            archive.refresh()
        return use(archive), archive.notices
    except ArchiveDamaged as damage:
        archive.close()
        archive = _anew(logs / INDEX_NAME, logs, damage)
        archive.refresh()
        return use(archive), archive.notices
    finally:
        archive.close()


def rebuild_local(logs: Path) -> int:
    """Make the index of a folder of logs anew from their journals; gives how many were read.

    Raises:
        ArchiveError: The index cannot be written.
        JournalError: The folder of the logs cannot be listed.
    """
    if not logs.is_dir():
        raise ArchiveError(str(logs), "there is no such folder of logs")
    local_archive(logs).close()  # a file of another program is set aside by this
    for name in _files(logs / INDEX_NAME):
        try:
            name.unlink(missing_ok=True)
        except OSError as error:
            raise ArchiveError(str(name), f"cannot be made anew: {error.strerror}") from error
    with local_archive(logs) as archive:
        if archive.notices:
            raise ArchiveError(str(logs / INDEX_NAME), "; ".join(archive.notices))
        return archive.refresh().read


def _in_memory(logs: Path, why: ArchiveError) -> Archive:
    from stepwise.archive.archive import Archive
    from stepwise.archive.engine import file_engine

    archive = Archive(file_engine(None), "in memory", logs)
    archive.notices = (f"{why}; the logs are read into memory instead",)
    return archive


def _files(path: Path) -> tuple[Path, ...]:
    """The file of an index and those that SQLite keeps beside it."""
    return (path, *(path.with_name(path.name + each) for each in ("-wal", "-shm", "-journal")))


def _anew(path: Path, logs: Path, damage: ArchiveDamaged) -> Archive:
    from stepwise.archive.archive import Archive
    from stepwise.archive.engine import file_engine

    aside = _set_aside(path)
    archive = Archive(file_engine(path), str(path), logs)
    archive.notices = (
        f"{damage}; it was set aside as {aside.name} and made again from the journals",
    )
    return archive


def _set_aside(path: Path) -> Path:
    """Give a broken index another name: it may be a file that somebody else needs."""
    number = 1
    while (aside := path.with_name(f"{_ASIDE}-{number}.sqlite")).exists():
        number += 1
    try:
        path.rename(aside)
        for beside in _files(path)[1:]:
            beside.unlink(missing_ok=True)
    except OSError as error:
        reason = f"it is broken and cannot be set aside: {error.strerror}"
        raise ArchiveError(str(path), reason) from error
    return aside
