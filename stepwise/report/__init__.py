"""A log for others: as plain text and as JSON, derived from the journal each time."""

from stepwise.report.record import FORMAT, run_record
from stepwise.report.safe import plain
from stepwise.report.text import flag_text, line_text, sheet_text, verdict_words

__all__ = [
    "FORMAT",
    "flag_text",
    "line_text",
    "plain",
    "run_record",
    "sheet_text",
    "verdict_words",
]
