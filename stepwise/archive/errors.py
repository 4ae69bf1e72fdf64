"""What can go wrong with the index; the journals are never at stake."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from stepwise.errors import StepwiseError


class ArchiveError(StepwiseError):
    """The index cannot be opened, read or written."""

    def __init__(self, place: str, reason: str) -> None:
        self.place = place
        self.reason = reason
        super().__init__(place, reason)

    def __str__(self) -> str:
        named = f"the archive {self.place}" if self.place else "the archive"
        return f"{named}: {self.reason}"


class ArchiveDamaged(ArchiveError):
    """The index is no index of ours, or broken; it can be made again from the journals."""


class ArchiveUnwritable(ArchiveError):
    """The index can be read, and nothing be added to it."""


_UNWRITABLE = ("readonly database", "disk is full", "disk I/O error")
_BROKEN = (
    "malformed",
    "not a database",
    "corrupt",
    "disk image",
    "no such table",
    "no such column",
)


@contextmanager
def told(place: str) -> Iterator[None]:
    """Turn what a database has to say into one sentence of ours.

    Raises:
        ArchiveDamaged: The database is broken or of another program.
        ArchiveUnwritable: There is no room, or no right, to write to it.
        ArchiveError: It cannot be reached, read or written.
    """
    from sqlalchemy.exc import DBAPIError, SQLAlchemyError

    try:
        yield
    except DBAPIError as error:
        reason = " ".join(str(error.orig).split())
        if any(word in reason for word in _BROKEN):
            raise ArchiveDamaged(place, reason) from error
        if any(word in reason for word in _UNWRITABLE):
            raise ArchiveUnwritable(place, reason) from error
        raise ArchiveError(place, reason) from error
    except SQLAlchemyError as error:
        raise ArchiveError(place, " ".join(str(error).split())) from error
