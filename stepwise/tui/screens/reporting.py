"""Which report, and writing it without keeping the screen waiting."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from textual.screen import Screen

from stepwise.errors import StepwiseError
from stepwise.tui.screens.choose import ChooseScreen
from stepwise.tui.services import Services

_KINDS = (
    ("html", "A page", "for a browser or the printer, everything in it"),
    ("markdown", "Markdown", "the same as text, for a publication or a repository"),
    ("csv", "Readings", "one row a result, for a spreadsheet"),
    ("talk", "For a talk", "one short sentence a result, in spoken order"),
    ("notes", "For notes", "a plain summary to paste below a publication"),
)


def choose_report(
    screen: Screen[Any], services: Services, folder: Path, say: Callable[[str], None]
) -> None:
    """Ask which report, write it in a thread, then say where it is, or why there is none.

    Args:
        screen: Over which the question is asked, and whose worker writes.
        services: What can be asked for.
        folder: Folder of the log.
        say: Shows a sentence.
    """
    write = services.write_report
    if write is None:
        say("No report can be written from here")
        return

    def work(kind: str) -> None:
        try:
            said = f"Report: {write(folder, kind)}"
        except StepwiseError as error:
            said = f"No report: {error}"
        screen.app.call_from_thread(say, said)

    def chosen(place: int | None) -> None:
        if place is None:
            return
        kind = _KINDS[place][0]
        say("Writing the report …")
        screen.run_worker(lambda: work(kind), thread=True, group="report", exit_on_error=False)

    rows = [(word, says) for _, word, says in _KINDS]
    screen.app.push_screen(ChooseScreen("Which report?", rows), chosen)
