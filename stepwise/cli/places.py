"""Where logs are, and which one is meant."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from stepwise.errors import StepwiseError


class NoSuchLog(StepwiseError):
    """A log that is named but not there."""


def now() -> datetime:
    """The clock of all commands."""
    return datetime.now(UTC)


def logs_folder(given: str | None) -> Path:
    """The folder of the logs: as given, `logs/` here, else the user's data folder."""
    if given is not None:
        folder = Path(given)
    elif Path("logs").is_dir():
        folder = Path("logs")
    else:
        from platformdirs import user_data_path

        folder = user_data_path("stepwise", appauthor=False) / "logs"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NoSuchLog(f"{folder}: no folder for logs can be made: {error.strerror}") from None
    return folder


def find_log(text: str, logs: Path) -> Path:
    """The log that is meant: a folder, a name within the logs, or "last".

    Raises:
        NoSuchLog: There is none; the sentence says what is there.
    """
    from stepwise.journal import find_log_folders

    known = find_log_folders(logs)
    if text == "last":
        if not known:
            raise NoSuchLog(f"there is no log in {logs} yet")
        return known[-1]
    for folder in (Path(text), logs / Path(text).name):
        if (folder / "journal.jsonl").is_file():
            return folder
    names = ", ".join(folder.name for folder in known[-5:]) or "none yet"
    raise NoSuchLog(f"there is no log “{text}”; the latest in {logs}: {names}")
