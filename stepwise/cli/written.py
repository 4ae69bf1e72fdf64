"""Files for others to read: written whole or not at all."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from stepwise.errors import StepwiseError

_JOURNAL = "journal.jsonl"


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """An empty file to write to, which takes its place under its name when all has gone well.

    Args:
        path: The file, perhaps over an older one; its folder is made where there is none.

    Raises:
        StepwiseError: It cannot be written, or it is the journal of a log.
    """
    import os

    if path.name.casefold() == _JOURNAL:
        raise StepwiseError(f"{path} would be the journal of a log; choose another name")
    try:
        if path.is_dir():
            raise StepwiseError(f"{path} is a folder; name a file in it")
        path.parent.mkdir(parents=True, exist_ok=True)
        made = _beside(path)
        try:
            yield made
            with made.open("rb+") as file:
                os.fsync(file.fileno())
            made.replace(path)
        finally:
            made.unlink(missing_ok=True)
    except OSError as error:
        if isinstance(error, StepwiseError):
            raise  # a journal or a log that cannot be read has a sentence of its own
        raise StepwiseError(f"{path} cannot be written: {error.strerror or error}") from None


def _beside(path: Path) -> Path:
    """A new empty file in the same folder, which others may read as far as is usual here."""
    import os
    from secrets import token_hex

    made = path.with_name(f".{token_hex(8)}{path.suffix}")
    os.close(os.open(made, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    return made


def write_file(path: Path, content: bytes) -> Path:
    """Put a file in its place, over an older one of that name.

    Args:
        path: The file; its folder is made where there is none.
        content: All of it.

    Returns:
        The path.

    Raises:
        StepwiseError: It cannot be written, or it is the journal of a log.
    """
    with replacing(path) as made:
        made.write_bytes(content)
    return path
