"""Files for others to read: written whole or not at all."""

from __future__ import annotations

from pathlib import Path

from stepwise.errors import StepwiseError


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
    import os
    import tempfile

    if path.name == "journal.jsonl":
        raise StepwiseError(f"{path} would be the journal of a log; choose another name")
    if path.is_dir():
        raise StepwiseError(f"{path} is a folder; name a file in it")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, made = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=path.suffix)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(made).replace(path)
        except OSError:
            Path(made).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise StepwiseError(f"{path} cannot be written: {error.strerror}") from None
    return path
