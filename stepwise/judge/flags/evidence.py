"""Printing the numbers that speak for a flag, and the words that say where."""

from __future__ import annotations

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence
from stepwise.judge.flags.sure import size
from stepwise.quantities import (
    Uncertain,
    format_estimate,
    format_uncertain,
    format_value,
    with_signs,
)


def of(result: Result) -> Evidence:
    """A result as evidence: its label and its figure with uncertainty."""
    return Evidence(result.label, format_uncertain(result.measure, result.unit))


def shown(result: Result) -> str:
    """A result within a sentence: its figure as the sheet shows it, without its uncertainty."""
    return format_estimate(result.measure, result.unit)


def height(result: Result) -> str:
    """The same without its sign: a rail as a height."""
    return format_estimate(size(result.measure), result.unit)


def here(result: Result) -> Evidence:
    """A result as evidence among those of other channels and loads: with its place."""
    place = ", ".join(part for part in (result.channel, with_signs(result.load)) if part)
    name = f"{result.label} ({place})" if place else result.label
    return Evidence(name, format_uncertain(result.measure, result.unit))


def of_measure(name: str, measure: Uncertain, unit: str) -> Evidence:
    """A value that the flag itself worked out."""
    return Evidence(name, format_uncertain(measure, unit))


def of_value(name: str, value: float, unit: str) -> Evidence:
    """A value without an uncertainty of its own: an expectation, a rating."""
    return Evidence(name, format_value(value, unit, digits=3))


def edge(result: Result) -> Evidence:
    """The limit that a result was held against."""
    limit = result.judgement.limit
    return Evidence("Limit", limit.text if limit is not None else "none")


def limit_of(result: Result) -> tuple[Evidence, ...]:
    """Its limit, or nothing where it has none."""
    return (edge(result),) if result.judgement.limit is not None else ()


def channel_words(result: Result) -> str:
    """The channel as the end of a phrase, or nothing."""
    return f" on the {result.channel} channel" if result.channel else ""


def load_words(result: Result) -> str:
    """The load as the end of a phrase, or nothing."""
    return f" into {with_signs(result.load)}" if result.load else ""


def beside(result: Result, findings: Findings, *names: str) -> list[Result]:
    """Results of those names in the same pass, as far as they are there."""
    return findings.firsts(*names, step=result.step, channel=result.channel, load=result.load)


def keys_of(*results: Result | None) -> tuple[str, ...]:
    """Keys behind the results in that order, each once; the first is the one to take again."""
    return tuple(
        dict.fromkeys(key for result in results if result is not None for key in result.basis)
    )
