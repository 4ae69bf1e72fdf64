"""`stepwise report`: a log for others, as a page, a table, words or pictures."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.cli.places import find_log, logs_folder
from stepwise.cli.printing import complain, verdict_code
from stepwise.cli.written import write_file
from stepwise.errors import StepwiseError

if TYPE_CHECKING:
    from stepwise.run import RunView

FORMS = ("html", "markdown", "csv")
PUBLICS = ("talk", "notes", "pictures")
_SUFFIXES = {"html": ".html", "markdown": ".md", "csv": ".csv", "talk": ".txt", "notes": ".txt"}
_PICTURES = "pictures"


def carry_out(arguments: Namespace) -> int:
    """Make a report; what is wrong with the log is said beside it."""
    from stepwise.run import read_run

    form, log, folder = _wanted(arguments)
    view = read_run(find_log(log, logs_folder(arguments.logs)))
    if form == _PICTURES:
        _write_pictures(view, folder or view.run.folder / _PICTURES)
    elif arguments.output is not None and arguments.output != "-":
        print(write_file(Path(arguments.output), report_bytes(view, form)))
    elif form == "html" and arguments.output is None:
        print(_beside(view, form))
    else:
        print(report_bytes(view, form).decode("utf-8"), end="")
    for warning in view.warnings:
        complain(warning)
    return 1 if view.record.damages else verdict_code(view.run)


def _wanted(arguments: Namespace) -> tuple[str, str, Path | None]:
    """The form, the log, and the folder for pictures where one is named.

    After --for the log may stand last: `report --for talk LOG` says the same as
    `report LOG --for talk`.
    """
    words = list(arguments.public or [])
    form = words.pop(0) if words else arguments.form or "html"
    if words and arguments.log is None:
        arguments.log = words.pop()
    if arguments.public and form not in PUBLICS:
        raise StepwiseError(f"--for {form}: write {', '.join(PUBLICS[:-1])} or {PUBLICS[-1]}")
    if arguments.public and arguments.form is not None:
        raise StepwiseError("--as and --for: give one of them")
    if arguments.log is None:
        raise StepwiseError("which log? Give its folder, its name, or “last”")
    folder = words.pop(0) if words and form == _PICTURES else None
    if words:
        raise StepwiseError(f"“{words[0]}” is one word too many")
    if form == _PICTURES:
        return form, arguments.log, _pictures_folder(folder, arguments.output)
    return form, arguments.log, None


def _pictures_folder(folder: str | None, output: str | None) -> Path | None:
    if folder is not None and output is not None:
        raise StepwiseError("the folder for the pictures is given twice")
    chosen = folder if folder is not None else output
    return Path(chosen) if chosen is not None else None


def _write_pictures(view: RunView, folder: Path) -> None:
    from stepwise.report import pictures

    for picture in pictures(view):
        print(write_file(folder / picture.name, picture.content))


def report_bytes(view: RunView, form: str) -> bytes:
    """A report in one of its forms.

    Args:
        view: A log as it was read.
        form: From `FORMS`, or talk or notes.
    """
    from stepwise.report import (
        build_report,
        html_page,
        markdown_page,
        notes_text,
        readings_csv,
        talk_text,
    )

    made = {
        "html": lambda: html_page(build_report(view)),
        "markdown": lambda: markdown_page(build_report(view)),
        "csv": lambda: readings_csv(view),
        "talk": lambda: talk_text(view),
        "notes": lambda: notes_text(view),
    }
    return made[form]().encode("utf-8", errors="backslashreplace")


def write_report(folder: Path, kind: str = "html") -> Path:
    """Write a report of a log beside its journal.

    Args:
        folder: The log's folder.
        kind: From `FORMS`, or talk or notes.

    Returns:
        The file.

    Raises:
        StepwiseError: The log cannot be read, or the file not be written.
    """
    from stepwise.run import read_run

    return _beside(read_run(folder), kind)


def _beside(view: RunView, form: str) -> Path:
    """Write a report into the folder of its log."""
    name = "report" if form in FORMS else form
    path = view.run.folder / f"{name}{_SUFFIXES[form]}"
    return write_file(path, report_bytes(view, form))
