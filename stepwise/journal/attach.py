"""Captures and photographs that are kept beside the journal, by copy."""

from __future__ import annotations

import os
from hashlib import sha256
from pathlib import Path
from typing import BinaryIO, NamedTuple

from stepwise.errors import JournalError
from stepwise.journal.durable import BINARY, whole_or_gone, write_all
from stepwise.journal.folder import slug

_PORTION = 1 << 20


class Attached(NamedTuple):
    """What the journal keeps of a file that was attached."""

    name: str
    """The copy's name in the log's folder."""
    sha256: str
    """Of its content, in hex."""


def attach_file(folder: Path, source: Path) -> Attached:
    """Copy a file into a log's folder under a new name, and see it onto the disk.

    Nothing that is there is overwritten: the name is `attached-<nn>-<name>`, with a number that
    is still free. The journal does not know of the copy until an event says so.

    Args:
        folder: The log's folder.
        source: The file to copy; it stays as it is.

    Returns:
        The copy's name and the hash of its content.

    Raises:
        JournalError: The source is no readable file, or the copy cannot be written whole; then
            no part of it is left.
    """
    try:
        if source.is_file():  # a pipe in its place would be waited for without end
            with source.open("rb") as opened:
                return _copy(opened, folder, _safe_name(source))
    except OSError as error:
        raise JournalError(source, f"was not attached: {error.strerror}") from error
    raise JournalError(source, "there is no file here that could be attached")


def _copy(source: BinaryIO, folder: Path, safe_name: str) -> Attached:
    path, descriptor = _new_file(folder, safe_name)
    content_hash = sha256()
    with whole_or_gone(path, descriptor):
        while portion := source.read(_PORTION):
            content_hash.update(portion)
            write_all(descriptor, portion)
    return Attached(path.name, content_hash.hexdigest())


def _new_file(folder: Path, safe_name: str) -> tuple[Path, int]:
    number = 1
    while True:
        path = folder / f"attached-{number:02d}-{safe_name}"
        try:
            return path, os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | BINARY, 0o666)
        except FileExistsError:
            number += 1


def _safe_name(source: Path) -> str:
    ending = slug(source.suffix, "")
    stem = slug(source.stem, "file")
    return f"{stem}.{ending}" if ending else stem
