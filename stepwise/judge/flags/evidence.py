"""Printing the numbers that speak for a flag."""

from __future__ import annotations

from stepwise.judge.findings import Result
from stepwise.judge.flag import Evidence
from stepwise.quantities import format_uncertain


def of(result: Result) -> Evidence:
    """A result as evidence: its label and its figure with uncertainty."""
    return Evidence(result.label, format_uncertain(result.measure, result.unit))


def edge(result: Result) -> Evidence:
    """The limit that a result was held against."""
    limit = result.judgement.limit
    return Evidence("Limit", limit.text if limit is not None else "none")


def channel_words(result: Result) -> str:
    """The channel as the end of a phrase, or nothing."""
    return f" on the {result.channel} channel" if result.channel else ""
