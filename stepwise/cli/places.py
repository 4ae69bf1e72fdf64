"""Where logs are, which one is meant, and what time it is."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from stepwise.errors import StepwiseError, did_you_mean

_LATEST = 5


class NoSuchLog(StepwiseError):
    """A log that is asked for and not there."""


def now() -> datetime:
    """The clock of all commands."""
    return datetime.now(UTC)


def logs_folder(given: str | None) -> Path:
    """The folder of the logs, which need not exist.

    Args:
        given: As given on the command line; without it `logs/` of the current folder where
            there is one, else the person's own data folder.
    """
    if given is not None:
        return Path(given)
    if Path("logs").is_dir():
        return Path("logs")
    from platformdirs import user_data_path

    return user_data_path("stepwise", appauthor=False) / "logs"


def find_log(text: str, logs: Path) -> Path:
    """The folder of the log that is meant.

    Args:
        text: A folder or its journal, a folder's name within the logs, or "last":
            the log that was written to last.
        logs: The folder of the logs.

    Raises:
        NoSuchLog: There is none; the sentence says what is there.
    """
    from stepwise.journal import find_log_folders, last_log_folder

    if text == "last":
        last = last_log_folder(logs)
        if last is None:
            raise NoSuchLog(f"there is no log in {logs} yet")
        return last
    found = log_at(text, logs)
    if found is not None:
        return found
    names = [folder.name for folder in find_log_folders(logs)]
    latest = ", ".join(names[-_LATEST:]) or "none yet"
    hint = did_you_mean(text, names, f"the latest in {logs}: {latest}")
    raise NoSuchLog(f"there is no log “{text}”; {hint}")


def log_at(text: str, logs: Path) -> Path | None:
    """The log at a path or of a name within `logs`; None where there is none."""
    for folder in (Path(text), logs / Path(text).name):
        try:
            if (folder / "journal.jsonl").is_file():
                return folder
            if folder.name == "journal.jsonl" and folder.is_file():
                return folder.parent
        except (OSError, ValueError):
            continue  # too long a name, or one that the system cannot hold
    return None
