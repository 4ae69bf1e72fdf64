"""Limits, verdicts and flags: what a value is worth, and what is odd about it.

This room judges values with uncertainty and nothing else: it knows no procedure, no bench and
no journal. Flags look at findings, and their families live in `judge.flags`.
"""

from stepwise.judge.findings import Findings, Result, ToneSpan
from stepwise.judge.flag import SEVERITY_ORDER, Evidence, Flag, Severity
from stepwise.judge.limit import Limit, LimitFields, check_limit, resolve_limit
from stepwise.judge.verdict import NOTED, Judgement, Verdict, judge, overall

__all__ = [
    "NOTED",
    "SEVERITY_ORDER",
    "Evidence",
    "Findings",
    "Flag",
    "Judgement",
    "Limit",
    "LimitFields",
    "Result",
    "Severity",
    "ToneSpan",
    "Verdict",
    "check_limit",
    "judge",
    "overall",
    "resolve_limit",
]
