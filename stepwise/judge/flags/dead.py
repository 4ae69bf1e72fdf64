"""Reservoirs that are still charged where the procedure asks for proof that they are not."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Confirmed, Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.limit import Limit
from stepwise.judge.verdict import SURE_OUTSIDE, Verdict, conformance_probability
from stepwise.quantities import format_value

_SAFE = 10.0
"""[V] Below this a reservoir may be touched: common practice, no source. What is touched is
surely above it already where that is 95 % likely: the flags about figures wait for more."""
_DEAD = Limit(-_SAFE, _SAFE, "V", "under 10 V")
_AS_IF_ON = 0.9
"""Share of the rail at idle from which a charge is no rest of one: common practice, no source."""
_ENDING = "_dead"
_BEFORE = "volts_before"
_RAILS = {"rail_plus": "positive", "rail_minus": "negative"}


def find(findings: Findings) -> Iterator[Flag]:
    """One flag a step and channel, for all reservoirs that are still charged there."""
    by_place: dict[tuple[str, str | None, str | None], list[Result]] = {}
    for result in findings.results:
        if result.name.endswith(_ENDING) or result.name == _BEFORE:
            place = (result.step, result.channel, result.load)
            by_place.setdefault(place, []).append(result)
    for read in by_place.values():
        live = [result for result in read if _is_live(result)]
        if live:
            yield _flag(live, read, findings)


def _is_live(result: Result) -> bool:
    """Surely above what may be touched, whichever way round the leads were."""
    if result.unit != "V":
        return False
    if result.name.endswith(_ENDING) and result.judgement.verdict is Verdict.OUT_OF_SPEC:
        return True
    return conformance_probability(result.measure, _DEAD) <= SURE_OUTSIDE


def _flag(live: list[Result], read: list[Result], findings: Findings) -> Flag:
    first = live[0]
    said = _said_to_be_discharged(first, findings)
    idle = [rail for rail in (_idle(result, findings) for result in live) if rail is not None]
    against = "".join(f", though “{each.ask}” was confirmed" for each in said[:1])
    return Flag(
        name="reservoirs-live",
        severity=Severity.STOP,
        step=first.step,
        channel=first.channel,
        load=first.load,
        says=f"The reservoirs are not dead{evidence.channel_words(first)}: "
        f"{' and '.join(map(evidence.shown, live))} still "
        f"{'stands' if len(live) == 1 else 'stand'} on them{against}.",
        evidence=(
            *map(evidence.of, read),
            Evidence("Dead is", f"under {format_value(_SAFE, 'V')}, either sign"),
            *(Evidence("Confirmed before", each.ask) for each in said),
            *map(evidence.here, idle),
        ),
        likely=_causes(live, read, idle),
        next_try="Local codes and licensed practice come first. Touch nothing: feed off, unplugged "
        "and locked. Discharge each reservoir again through the resistor, then measure until it "
        "stays under 10 V, and read it again here.",
        keys=(*evidence.keys_of(*live), *(each.key for each in said)),
    )


def _said_to_be_discharged(result: Result, findings: Findings) -> list[Confirmed]:
    """What was confirmed of the discharge, in the nearest step before the reading."""
    if not result.name.endswith(_ENDING):
        return []
    spoken = [
        each
        for each in findings.confirmed
        if result.step in each.before and "discharged" in each.ask.lower()
    ]
    return [each for each in spoken if each.step == spoken[-1].step]


def _idle(result: Result, findings: Findings) -> Result | None:
    """The same rail without signal, with the power on."""
    return findings.last(result.name.removesuffix(_ENDING), load=None)


def _causes(live: list[Result], read: list[Result], idle: list[Result]) -> tuple[str, ...]:
    """What the readings point to stands first."""
    feed = "The feed is still on, or the wrong plug was pulled"
    short = "The discharge resistor was lifted too soon, or its clip did not touch"
    bleeder = "The bleeder across the reservoir is open, or there is none"
    back = "Charge crept back after the discharge"
    usual = [short, bleeder, back]
    if len(live) < len(read) and live[0].name.removesuffix(_ENDING) in _RAILS:
        side = _RAILS[live[0].name.removesuffix(_ENDING)]
        usual.insert(0, f"Only the {side} reservoir was passed over")
    is_full = any(
        abs(result.value) >= _AS_IF_ON * abs(rail.value)
        for result in live
        for rail in idle
        if rail.name == result.name.removesuffix(_ENDING)
    )
    return (feed, *usual) if is_full else (*usual, feed)
