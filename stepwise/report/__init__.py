"""A log for others: as plain text and as JSON, derived from the journal each time.

Nothing here opens a file, takes a lock or prints. Text from people passes through `plain`
before it may reach a terminal.
"""

from stepwise.report.columns import WIDTH, hanging, table_row, wrap
from stepwise.report.record import FORMAT, run_record
from stepwise.report.safe import plain
from stepwise.report.text import flag_text, line_text, lines_text, sheet_text

__all__ = [
    "FORMAT",
    "WIDTH",
    "flag_text",
    "hanging",
    "line_text",
    "lines_text",
    "plain",
    "run_record",
    "sheet_text",
    "table_row",
    "wrap",
]
