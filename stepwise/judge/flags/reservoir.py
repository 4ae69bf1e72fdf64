"""Reservoirs against their rating: now, and when the mains is high."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import size, surely_above
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_estimate, format_value

_HIGH_MAINS = 1.10
"""Highest mains over nominal [1]: EN 50160 (from memory)."""

_NO_MARGIN = 0.95
"""Share of the rating at high mains from which no margin is left [1]: what a meter of 5 % may be
off (common practice, no source). A rail beyond a limit of another kind does not come near it."""


def find(findings: Findings) -> Iterator[Flag]:
    """One flag a step, for the highest rail without signal."""
    rating = findings.facts.get("reservoir_rating")
    if rating is None:
        return
    highest: dict[str, Result] = {}
    for name in ("rail_plus", "rail_minus"):
        for rail in findings.named(name, load=None):
            best = highest.get(rail.step)
            if best is None or abs(rail.value) > abs(best.value):
                highest[rail.step] = rail
    for rail in highest.values():
        height = size(rail.measure)
        if surely_above(height, rating):
            yield _over(rail, rating)
        elif surely_above(height.scaled(_HIGH_MAINS), rating) or _is_near(rail, rating):
            yield _margin(rail, rating, findings)


def _is_near(rail: Result, rating: float) -> bool:
    """Beyond a limit that stands for the rating: nine tenths of it are 0.99 at high mains."""
    is_out = rail.judgement.verdict is Verdict.OUT_OF_SPEC
    return is_out and abs(rail.value) * _HIGH_MAINS > _NO_MARGIN * rating


def _numbers(rail: Result, rating: float) -> tuple[Evidence, ...]:
    return (
        evidence.here(rail),
        evidence.of_value("Rating of the reservoirs", rating, "V"),
        evidence.of_measure("At 10 % more mains", size(rail.measure).scaled(_HIGH_MAINS), "V"),
    )


def _over(rail: Result, rating: float) -> Flag:
    return Flag(
        name="reservoir-over-rating",
        severity=Severity.STOP,
        step=rail.step,
        channel=None,
        load=None,
        says=f"{evidence.height(rail)} stands on reservoirs rated for "
        f"{format_value(rating, 'V')}: they can vent or burst.",
        evidence=_numbers(rail, rating),
        likely=(
            "The transformer gives too much for this board",
            "The mains is high, or set high on a variable transformer",
            "The rating was copied wrongly from the capacitor",
        ),
        next_try="Switch off at the wall, keep your face away, discharge. Use a lower secondary "
        "or reservoirs of a higher rating.",
        keys=rail.basis,
        closes=("tone", "capacitor", "loudspeaker"),
        reopens="Take the rail again; it opens when no rail is above the reservoirs' rating.",
    )


def _margin(rail: Result, rating: float, findings: Findings) -> Flag:
    margin = findings.first("reservoir_margin", channel=rail.channel)
    return Flag(
        name="reservoir-margin",
        severity=Severity.WRONG,
        step=rail.step,
        channel=None,
        load=None,
        says=f"At high mains {format_estimate(size(rail.measure).scaled(_HIGH_MAINS), 'V')} would "
        f"stand on reservoirs rated for {format_value(rating, 'V')}: no margin is left.",
        evidence=(
            *_numbers(rail, rating),
            *([evidence.of(margin)] if margin is not None else ()),
            *evidence.limit_of(rail),
        ),
        likely=(
            "The secondary is at the upper end of what this board was built for",
            "The mains is high today: read it, and think of the rail at its nominal value",
            "The maker counted on the sag under load",
        ),
        next_try="Read the mains. Compare the rail at nominal mains with nine tenths of the "
        "rating; above that take a lower secondary or better capacitors.",
        keys=rail.basis,
    )
