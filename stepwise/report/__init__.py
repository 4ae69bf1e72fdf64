"""A log for others: as text, JSON, HTML, Markdown, CSV, spoken lines and pictures.

Everything is derived from the journal each time. Nothing here opens a file, takes a lock or
prints. Text from people is made harmless for the form that it goes into: `plain` for a
terminal, `markdown_text`, `csv_cell`, and the templates' own escaping for HTML.
"""

from stepwise.report.build import build_report
from stepwise.report.columns import WIDTH, hanging, table_row, wrap
from stepwise.report.content import Report
from stepwise.report.escape import csv_cell, markdown_text
from stepwise.report.html import html_page
from stepwise.report.markdown import markdown_page
from stepwise.report.marks import marks_record, marks_text
from stepwise.report.notes import notes_text
from stepwise.report.pictures import Picture, pictures
from stepwise.report.record import FORMAT, run_record
from stepwise.report.safe import plain
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
    "csv_cell",
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
    "plain",
    "readings_csv",
    "run_record",
    "sheet_text",
    "table_row",
    "talk_text",
    "wrap",
]
