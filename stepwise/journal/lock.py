"""One writer at a time, and a name for who it is.

The lock is the operating system's, on a file beside the journal. It ends with the process that
holds it, so a program that was killed leaves nothing to clear away. The text in the file is
for people; it decides nothing.
"""

from __future__ import annotations

import errno
import os
import platform
import sys
from datetime import UTC, datetime
from pathlib import Path

from stepwise.errors import JournalError, JournalHeld
from stepwise.journal.durable import BINARY
from stepwise.journal.event import instant_text
from stepwise.safe_text import plain

LOCK_NAME = "journal.lock"

_HELD = frozenset({errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES, errno.EDEADLK})
_LONGEST_TEXT = 200

if sys.platform == "win32":
    import msvcrt

    # Windows hides a locked range from other programs, so lock a byte far behind the text.
    _LOCKED_BYTE = 0x4000_0000

    def _take(descriptor: int) -> None:
        os.lseek(descriptor, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


class Lock:
    """The lock on one log, held from construction to `release`.

    Raises:
        JournalHeld: Another program, or another part of this one, holds it.
        JournalError: The lock file cannot be made, or the file system has no locks.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / LOCK_NAME
        try:
            self._descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT | BINARY, 0o666)
        except OSError as error:
            raise JournalError(
                self._path, f"the log cannot be locked for writing: {error.strerror}"
            ) from error
        try:
            _take(self._descriptor)
            self._sign()
        except OSError as error:
            refusal = self._refusal(error)
            self.release()
            raise refusal from error

    def release(self) -> None:
        """Let the next writer in. The file stays: removing it would race with the next one.

        Raises:
            JournalError: The system reports an error; the lock is given back all the same.
        """
        try:
            os.close(self._descriptor)
        except OSError as error:
            raise JournalError(self._path, f"did not close: {error.strerror}") from error

    def _sign(self) -> None:
        # The wall clock, not the run's: this says when the lock was taken, also in a rehearsal.
        since = instant_text(datetime.now(UTC))
        holder = f"process {os.getpid()} on {platform.node()} since {since}\n"
        os.ftruncate(self._descriptor, 0)
        os.lseek(self._descriptor, 0, os.SEEK_SET)
        os.write(self._descriptor, holder.encode("utf-8", "replace"))

    def _refusal(self, error: OSError) -> JournalError:
        if error.errno in _HELD:
            return JournalHeld(
                self._path,
                f"the log is being written by {self._holder()}; end that program first",
            )
        return JournalError(self._path, f"the log cannot be locked: {error.strerror}")

    def _holder(self) -> str:
        try:
            os.lseek(self._descriptor, 0, os.SEEK_SET)
            text = os.read(self._descriptor, _LONGEST_TEXT).decode("utf-8", "replace")
        except OSError:
            text = ""  # who it is cannot be read; that it is held is all that matters
        return plain(text.strip()) or "another program"
