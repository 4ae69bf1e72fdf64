"""The run: which prompt is next, what an answer leads to, and what is kept of it.

Front ends (the screens, the plain mode, transcribing) drive a `Run` and show the `Outcome`s it
gives back. This room knows no screen and prints nothing; the journal is its only store.
"""

from stepwise.run.answering import AnsweringBench
from stepwise.run.attach_capture import Proposal, ProposedAnswer
from stepwise.run.bench_log import with_bench_log
from stepwise.run.marks import run_marks
from stepwise.run.notes import Notes, Row, read_notes
from stepwise.run.otherwise import Otherwise
from stepwise.run.outcome import (
    Blocked,
    Card,
    Curve,
    Outcome,
    SheetLine,
    Status,
    ToneClock,
)
from stepwise.run.plan import Plan, plan_from_begin, plan_from_texts
from stepwise.run.recorder import Clock
from stepwise.run.review import Review
from stepwise.run.run import Run
from stepwise.run.sheet import figure, place_words
from stepwise.run.trace import Trace
from stepwise.run.transcribe import transcribe
from stepwise.run.view import RunView, read_run

__all__ = [
    "AnsweringBench",
    "Blocked",
    "Card",
    "Clock",
    "Curve",
    "Notes",
    "Otherwise",
    "Outcome",
    "Plan",
    "Proposal",
    "ProposedAnswer",
    "Review",
    "Row",
    "Run",
    "RunView",
    "SheetLine",
    "Status",
    "ToneClock",
    "Trace",
    "figure",
    "place_words",
    "plan_from_begin",
    "plan_from_texts",
    "read_notes",
    "read_run",
    "run_marks",
    "transcribe",
    "with_bench_log",
]
