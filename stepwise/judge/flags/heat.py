"""Heat: too hot to hold, places that will be, and channels that do not share it."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.heat_causes import heat_causes
from stepwise.judge.flags.sure import difference, surely_above
from stepwise.judge.limit import Limit
from stepwise.judge.verdict import SURE_OUTSIDE, Verdict, conformance_probability
from stepwise.quantities import format_value

_TOO_HOT = Limit(None, 60.0, "C", "at most 60 °C")
"""Too hot to hold is above about 60 degrees: common practice, no source."""
_DANGEROUS = 90.0
"""[C] Bare metal here burns in well under a second (ISO 13732-1 thresholds, from memory)."""
_APART = 10.0
"""[K] Two channels under the same test differ by less: common practice, no source."""
_SPOT = 3.0
"""[K] What aiming a thermometer without contact once more at the same place is good for, and a
draught: common practice, no source."""


def find(findings: Findings) -> Iterator[Flag]:
    """Hot places by channel; predicted ones; hotter channels; places that cool while driven."""
    for name in ("temperature", "final_temperature"):
        yield from _hot(findings, name)
    yield from _channels(findings)
    yield from _cooler(findings)


def _place(result: Result) -> str:
    return (result.point or "").split(" at ")[0]


def _hot(findings: Findings, name: str) -> Iterator[Flag]:
    """The hottest place of each channel, the others beside it as evidence."""
    worst: dict[tuple[str, str | None, str], Result] = {}
    for result in findings.named(name):
        spot = (result.step, result.channel, _place(result))
        if _is_too_hot(result) and (spot not in worst or result.value > worst[spot].value):
            worst[spot] = result
    groups: dict[tuple[str, str | None], list[Result]] = {}
    for (step, channel, _), result in worst.items():
        groups.setdefault((step, channel), []).append(result)
    for results in groups.values():
        hottest, *others = sorted(results, key=lambda result: -result.value)
        expected = name == "final_temperature"
        yield _to_come(hottest, others, findings) if expected else _now(hottest, others)


def _is_too_hot(result: Result) -> bool:
    if result.judgement.limit is not None:
        return result.judgement.verdict is Verdict.OUT_OF_SPEC
    # As a limit would be judged: what the finger says has a wide uncertainty, and counts.
    return conformance_probability(result.measure, _TOO_HOT) <= SURE_OUTSIDE


def _now(hottest: Result, others: list[Result]) -> Flag:
    dangerous = hottest.value >= _DANGEROUS
    causes = heat_causes(_place(hottest))
    limit = hottest.judgement.limit
    rule = () if limit is not None else (Evidence("Too hot to hold", "above about 60 °C"),)
    return Flag(
        name="too-hot",
        severity=Severity.STOP if dangerous else Severity.WRONG,
        step=hottest.step,
        channel=hottest.channel,
        load=hottest.load,
        says=f"{hottest.label} is too hot{evidence.channel_words(hottest)}: "
        f"{evidence.shown(hottest)}."
        + (" Bare metal at that heat burns at a touch." if dangerous else ""),
        evidence=(
            evidence.of(hottest),
            *evidence.limit_of(hottest),
            *rule,
            *map(evidence.of, others),
        ),
        likely=causes.likely,
        next_try=f"Tone off, then power off. When cool, {causes.cool}.",
        keys=hottest.basis,
        closes=("tone", "capacitor", "loudspeaker") if dangerous else (),
        reopens=f"Let it cool and take the temperature again; it opens below {_DANGEROUS:g} °C."
        if dangerous
        else "",
    )


def _to_come(hottest: Result, others: list[Result], findings: Findings) -> Flag:
    causes = heat_causes(_place(hottest))
    time = findings.first(
        "time_constant", step=hottest.step, channel=hottest.channel, point=hottest.point
    )
    return Flag(
        name="heat-to-come",
        severity=Severity.WRONG,
        step=hottest.step,
        channel=hottest.channel,
        load=hottest.load,
        says=f"It is not there yet, but the {_place(hottest) or 'board'} is on its way to "
        f"{evidence.shown(hottest)}{evidence.channel_words(hottest)}.",
        evidence=(
            evidence.of(hottest),
            *evidence.limit_of(hottest),
            *([evidence.of(time)] if time is not None else ()),
            *map(evidence.of, others),
        ),
        likely=causes.likely_to_come,
        next_try=f"Turn down now and let it cool. Then {causes.to_come}.",
        keys=hottest.basis[::-1],
    )


def _channels(findings: Findings) -> Iterator[Flag]:
    """The same place of two channels, read at the same time of the same step."""
    by_place: dict[tuple[str, str | None], list[Result]] = {}
    for result in findings.named("temperature"):
        if result.channel is not None:
            by_place.setdefault((result.step, result.point), []).append(result)
    worst: dict[str, tuple[float, Result, Result]] = {}
    for results in by_place.values():
        hot = max(results, key=lambda result: result.value)
        cool = min(results, key=lambda result: result.value)
        gap = difference(hot.measure, cool.measure)
        apart = hot.channel != cool.channel and surely_above(gap, _APART)
        if apart and gap.value > worst.get(hot.step, (0.0,))[0]:
            worst[hot.step] = (gap.value, hot, cool)
    for gap_kelvin, hot, cool in worst.values():
        causes = heat_causes(_place(hot))
        yield Flag(
            name="channel-hotter",
            severity=Severity.LOOK,
            step=hot.step,
            channel=hot.channel,
            load=hot.load,
            says=f"The {_place(hot) or 'place'} of the {hot.channel} channel is "
            f"{format_value(gap_kelvin, 'K', digits=2)} hotter than that of the {cool.channel}.",
            evidence=(evidence.here(hot), evidence.here(cool)),
            likely=causes.likely_apart,
            next_try=f"See that both were driven alike and {causes.compare}. Then, power off and "
            f"cool, {causes.cool}.",
            keys=evidence.keys_of(hot, cool),
        )


def _cooler(findings: Findings) -> Iterator[Flag]:
    """A place that cools between two readings while what heats it stays on.

    Only a dip counts, with a rise before it or after it: a row that falls from first to last was
    taken while it cooled down.
    """
    rows: dict[tuple[str, str | None, str], list[Result]] = {}
    for result in findings.named("temperature"):
        if " at " in (result.point or ""):
            rows.setdefault((result.step, result.channel, _place(result)), []).append(result)
    for row in rows.values():
        for place in range(1, len(row)):
            before, here = row[place - 1], row[place]
            rose = [row[place - 2 : place], row[place : place + 2]]
            dips = surely_above(difference(before.measure, here.measure), _SPOT)
            if dips and any(_rises(pair) for pair in rose):
                yield _dip(before, here)
                break


def _rises(pair: list[Result]) -> bool:
    return len(pair) == 2 and surely_above(difference(pair[1].measure, pair[0].measure), _SPOT)


def _dip(before: Result, here: Result) -> Flag:
    return Flag(
        name="cooler-while-driven",
        severity=Severity.LOOK,
        step=here.step,
        channel=here.channel,
        load=here.load,
        says=f"{here.label} was read cooler than before while the same heat goes into it"
        f"{evidence.channel_words(here)}.",
        evidence=(evidence.of(before), evidence.of(here)),
        likely=(
            "The thermometer was aimed at another spot, or at bare, shiny metal",
            "The tone was off for a while, or protection acted",
            "A fan started, or a window was opened",
        ),
        next_try="See that the tone is still on at its level, then take this temperature again on "
        "the matt tape.",
        keys=evidence.keys_of(here, before),
    )
