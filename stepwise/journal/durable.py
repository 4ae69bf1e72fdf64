"""Getting bytes past the operating system, onto the disk itself."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

BINARY = getattr(os, "O_BINARY", 0)
"""Keeps Windows from turning newlines into CR LF; other systems have no such flag."""

_CANNOT_SYNC_FOLDERS = frozenset({errno.EINVAL, errno.ENOTSUP})


def sync_file(descriptor: int) -> None:
    """Return when the file's content is on the disk.

    Raises:
        OSError: It is not known what is on the disk. A later success does not repair that:
            Linux forgets the pages that it failed to write.
    """
    if sys.platform == "darwin":
        import fcntl

        # fsync on macOS stops at the drive's cache, which a power cut empties.
        fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
    os.fsync(descriptor)


def sync_folder(folder: Path) -> None:
    """Return when the names in a folder are on the disk, so that a new file can be found.

    Raises:
        OSError: The folder cannot be opened or synced.
    """
    if sys.platform == "win32":
        return  # a folder cannot be opened there; NTFS journals its names itself
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:
        # Some network and FUSE file systems have no such operation. Nothing more can be done.
        if error.errno not in _CANNOT_SYNC_FOLDERS:
            raise
    finally:
        os.close(descriptor)


def write_new(path: Path, content: bytes) -> None:
    """Write a file that did not exist, and see it onto the disk.

    Raises:
        FileExistsError: There is something of that name.
        OSError: It cannot be written whole; what was written of it is removed again.
    """
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | BINARY, 0o666)
    with whole_or_gone(path, descriptor):
        write_all(descriptor, content)


@contextmanager
def whole_or_gone(path: Path, descriptor: int) -> Iterator[None]:
    """Close a new file after it was written: it is on the disk then, or it is not there.

    Args:
        path: The file; removed again when the writing or the sync raises.
        descriptor: Open for writing; closed in any case.

    Raises:
        OSError: It is not known what is on the disk.
    """
    try:
        try:
            yield
            sync_file(descriptor)
        finally:
            os.close(descriptor)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def write_all(descriptor: int, content: bytes) -> None:
    """Write every byte, in as many goes as the system takes.

    Raises:
        OSError: It cannot be written.
    """
    left = memoryview(content)
    while left:
        left = left[os.write(descriptor, left) :]
