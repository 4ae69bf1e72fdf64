"""Limits, verdicts and flags: what a value is worth, and what is odd about it.

This room judges values with uncertainty and nothing else: it knows no procedure, no bench and
no journal. Flags look at findings, and their families live in `judge.flags`.
"""

from stepwise.judge.conclusion import Conclusion, Grade, conclude
from stepwise.judge.findings import Confirmed, Findings, Result, ToneSpan
from stepwise.judge.flag import CLOSABLE, SEVERITY_ORDER, Evidence, Flag, Severity
from stepwise.judge.limit import Limit, LimitFields, check_limit, named_in, resolve_limit
from stepwise.judge.marks import (
    Criterion,
    CriterionMark,
    MarkFields,
    Marks,
    Where,
    give_marks,
    mark_of,
    mark_text,
)
from stepwise.judge.verdict import NOTED, Judgement, Verdict, judge, overall

__all__ = [
    "CLOSABLE",
    "NOTED",
    "SEVERITY_ORDER",
    "Conclusion",
    "Confirmed",
    "Criterion",
    "CriterionMark",
    "Evidence",
    "Findings",
    "Flag",
    "Grade",
    "Judgement",
    "Limit",
    "LimitFields",
    "MarkFields",
    "Marks",
    "Result",
    "Severity",
    "ToneSpan",
    "Verdict",
    "Where",
    "check_limit",
    "conclude",
    "give_marks",
    "judge",
    "mark_of",
    "mark_text",
    "named_in",
    "overall",
    "resolve_limit",
]
