"""A log for others: as text, JSON, HTML, Markdown, CSV, spoken lines and pictures.

Everything is derived from the journal each time. Nothing here opens a file, takes a lock or
prints. Text from people is made harmless for the form that it goes into: by
`stepwise.safe_text` for a terminal and a spreadsheet, `markdown_text`, and the templates' own
escaping for HTML.

A name is imported when it is first asked for, since the smallest of them, `hanging`, is wanted
by commands that make no report.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stepwise.report.build import build_report
    from stepwise.report.columns import WIDTH, hanging, table_row, wrap
    from stepwise.report.content import Report
    from stepwise.report.escape import markdown_text
    from stepwise.report.html import html_page
    from stepwise.report.markdown import markdown_page
    from stepwise.report.marks import marks_record, marks_text
    from stepwise.report.notes import notes_text
    from stepwise.report.picture_files import Picture, pictures
    from stepwise.report.record import FORMAT, run_record
    from stepwise.report.table_csv import COLUMNS, readings_csv
    from stepwise.report.talk import talk_text
    from stepwise.report.text import flag_text, line_text, lines_text, sheet_text

__all__ = [
    "COLUMNS",
    "FORMAT",
    "WIDTH",
    "Picture",
    "Report",
    "build_report",
    "flag_text",
    "hanging",
    "html_page",
    "line_text",
    "lines_text",
    "markdown_page",
    "markdown_text",
    "marks_record",
    "marks_text",
    "notes_text",
    "pictures",
    "readings_csv",
    "run_record",
    "sheet_text",
    "table_row",
    "talk_text",
    "wrap",
]

_FILES: Mapping[str, str] = MappingProxyType(
    {
        "COLUMNS": "table_csv",
        "FORMAT": "record",
        "WIDTH": "columns",
        "Picture": "picture_files",
        "Report": "content",
        "build_report": "build",
        "flag_text": "text",
        "hanging": "columns",
        "html_page": "html",
        "line_text": "text",
        "lines_text": "text",
        "markdown_page": "markdown",
        "markdown_text": "escape",
        "marks_record": "marks",
        "marks_text": "marks",
        "notes_text": "notes",
        "pictures": "picture_files",
        "readings_csv": "table_csv",
        "run_record": "record",
        "sheet_text": "text",
        "table_row": "columns",
        "talk_text": "talk",
        "wrap": "columns",
    }
)
"""Where each name is; no file may be called like a name, or it would stand in its place."""


if not TYPE_CHECKING:  # a checker of types is to complain of a name that is not there

    def __getattr__(name: str) -> object:
        file = _FILES.get(name)
        if file is None:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        return getattr(import_module(f"{__name__}.{file}"), name)
