"""A file to which whole lines are added, each of them on the disk or not there at all."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from stepwise.errors import JournalError
from stepwise.journal.durable import BINARY, sync_file, sync_folder

_DISK_FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
_RESUME = "end the program, see to the disk, then resume the run"


class LineFile:
    """The journal's file, open for adding lines.

    A write that fails is taken back, so that the file ends with the last line that was kept.
    Where that cannot be made sure, or the disk did not confirm a line, no more is taken.

    Raises:
        JournalError: The file cannot be opened, is missing, or (`is_new`) is there already.
    """

    def __init__(self, path: Path, is_new: bool) -> None:
        self.path = path
        self.size = 0
        """Up to where the file holds lines that were kept [bytes]."""
        self._unfit: str | None = None
        flags = os.O_RDWR | os.O_APPEND | BINARY | (os.O_CREAT | os.O_EXCL if is_new else 0)
        try:
            self._descriptor = os.open(path, flags, 0o666)
        except FileExistsError as error:
            raise JournalError(path, "there is a journal here already") from error
        except FileNotFoundError as error:
            raise JournalError(path, "there is no journal here") from error
        except OSError as error:
            reason = f"cannot be opened for writing: {error.strerror}"
            raise JournalError(path, reason) from error

    def settle(self, size: int) -> None:
        """Cut the file to `size` bytes and see it and its name onto the disk.

        Raises:
            JournalError: The disk refuses.
        """
        try:
            if os.fstat(self._descriptor).st_size != size:
                os.ftruncate(self._descriptor, size)
            sync_file(self._descriptor)
            sync_folder(self.path.parent)
        except OSError as error:
            reason = f"cannot be made ready for writing: {error.strerror}"
            raise JournalError(self.path, reason) from error
        self.size = size

    def add(self, line: bytes) -> None:
        """Add one line with one write, and return when it is on the disk.

        Raises:
            JournalError: The line was not kept, or (the sentence says so) it is not certain
                that it was. All lines before it are untouched.
        """
        self._refuse_if_unfit()
        try:
            try:
                self._write(line)
            except OSError as error:
                raise self._not_written(error) from error
            try:
                sync_file(self._descriptor)
            except OSError as error:
                raise self._not_synced(error) from error
            self.size += len(line)
        except JournalError:
            raise
        except BaseException:
            # Ctrl-C can come between the write and the sync. What is in the file then is
            # settled when the log is opened again.
            self._unfit = f"an entry was interrupted while it was written; {_RESUME}"
            raise

    def close(self) -> None:
        """Close the file for good.

        Raises:
            JournalError: The system reports an error; the file is closed all the same.
        """
        self._unfit = "it was closed"
        try:
            os.close(self._descriptor)
        except OSError as error:
            raise JournalError(self.path, f"did not close: {error.strerror}") from error

    def _write(self, line: bytes) -> None:
        if os.write(self._descriptor, line) != len(line):
            # Going on with the rest would make two writes of one line, and the disk that took
            # only a part of it is full.
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def _not_written(self, error: OSError) -> JournalError:
        what = f"this reading was not kept ({error.strerror}); all before it are safe. "
        if not self._is_taken_back():
            self._unfit = f"a line could not be written ({error.strerror}); {_RESUME}"
            return JournalError(self.path, f"{what}To go on, {_RESUME}")
        cure = "Make room on the disk" if error.errno in _DISK_FULL else "See to the disk"
        return JournalError(self.path, f"{what}{cure}, then enter it again")

    def _not_synced(self, error: OSError) -> JournalError:
        # After a failed fsync nobody knows what is on the disk, and the next one may report
        # success for pages that the system has dropped. So no more is taken.
        self._unfit = f"the disk failed to confirm a line ({error.strerror}); {_RESUME}"
        what = (
            "this reading was not kept"
            if self._is_taken_back()
            else "it is not certain that this reading was kept"
        )
        return JournalError(
            self.path,
            f"{what}: the disk did not confirm it ({error.strerror}). Nothing more is taken; "
            f"{_RESUME} and look at its last reading",
        )

    def _is_taken_back(self) -> bool:
        """Cut the file back to the last line that was kept; False where that is not certain."""
        try:
            os.ftruncate(self._descriptor, self.size)
            sync_file(self._descriptor)
        except OSError:
            return False  # the caller's sentence says what follows from it
        return True

    def _refuse_if_unfit(self) -> None:
        if self._unfit is not None:
            reason = f"this reading was not kept, the journal takes no more: {self._unfit}"
            raise JournalError(self.path, reason)
        try:
            named = self.path.stat()
            ours = os.fstat(self._descriptor)
        except OSError as error:
            reason = f"this reading was not kept: the journal is gone ({error.strerror})"
            raise JournalError(self.path, reason) from error
        # A line added to a file that was deleted or replaced would be lost with it.
        if not os.path.samestat(named, ours) or ours.st_size != self.size:
            raise JournalError(
                self.path,
                "this reading was not kept: another program has changed or replaced the "
                "journal; end the program and have the log checked",
            )
