"""The results in spoken order, one short sentence each, to be read out."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge import Result, Severity, Verdict
from stepwise.quantities import format_number
from stepwise.report.gist import Gist, Powers, gist_of
from stepwise.report.headlines import verdict_sentence
from stepwise.report.spoken import spoken, spoken_day, spoken_text, spoken_value
from stepwise.report.words import sentence
from stepwise.run import RunView, run_marks
from stepwise.safe_text import plain

_ALIKE = 0.5
"""Channels whose clean levels differ by less [dB] sound, and are called, alike."""
_NO_OVERSHOOT = 1.0
"""[%] below which nobody would speak of an overshoot."""


def talk_text(view: RunView) -> str:
    """What to say about a log, a line for each sentence.

    Args:
        view: A log as it was read.
    """
    return "".join(f"{plain(line)}\n" for line in _lines(view))


def _lines(view: RunView) -> Iterator[str]:
    run = view.run
    review = run.review()
    gist = gist_of(run, review)
    day = spoken_day((run.state.began_at or "")[:10])
    yield sentence(f"This is {gist.unit}, on the bench on {day}" if day else f"This is {gist.unit}")
    if run.state.begin.get("rehearsal"):
        yield "It is a rehearsal: nothing here was measured on a real board."
    for powers in gist.powers:
        yield from _power(powers)
    yield from _balance(review.results)
    yield from _supply(gist)
    yield from _response(gist)
    yield from _pulse(gist)
    yield from _at_rest(gist)
    yield from _heat(gist)
    yield from _flags(gist)
    yield from _mark(view)
    yield f"The verdict: {review.conclusion.words}."
    yield verdict_sentence(view, gist, review)


def _power(powers: Powers) -> Iterator[str]:
    load = spoken_value(float(powers.load.split()[0]), "ohm")
    yield f"Into {load} it gives about {spoken(powers.weakest)} before it clips."
    if powers.loud:
        loud = min(powers.loud, key=lambda result: result.value)
        yield f"Driven well into clipping, it gives about {spoken(loud)}."
    if powers.claim is None:
        return
    claim = spoken_value(powers.claim.power, "W")
    if powers.claim.distortion is not None:
        claim += f" at {spoken_value(powers.claim.distortion, '%')} distortion"
    kept = {
        Verdict.IN_SPEC: "and it keeps that",
        Verdict.OUT_OF_SPEC: "and it does not get there",
        Verdict.TOO_CLOSE: "and that is too close to call",
        None: "which could not be judged: the level there was not read",
    }[powers.claim_verdict]
    yield f"The seller says {claim}, {kept}."


def _balance(results: tuple[Result, ...]) -> Iterator[str]:
    balances = [each for each in results if each.name == "channel_balance"]
    if not balances:
        return
    widest = max(balances, key=lambda each: abs(each.value))
    if abs(widest.value) < _ALIKE:
        yield "The channels are alike in clean level."
    else:
        apart = spoken_value(abs(widest.value), "dB")
        yield f"The channels differ by {apart} in clean level."


def _supply(gist: Gist) -> Iterator[str]:
    if gist.sag is not None:
        yield f"Under load its supply gives way by {spoken(gist.sag)}{_beyond(gist.sag)}."


def _response(gist: Gist) -> Iterator[str]:
    if gist.low_end is not None:
        yield f"The bass is down by 3 decibels at {spoken(gist.low_end)}{_beyond(gist.low_end)}."
    if gist.high_end is not None:
        end = f"{spoken(gist.high_end)}{_beyond(gist.high_end)}"
        yield f"The treble is down by 3 decibels at {end}."
    if gist.flatness is not None:
        yield f"In between it is flat within {spoken(gist.flatness)}."


def _pulse(gist: Gist) -> Iterator[str]:
    if gist.overshoot is not None:
        if gist.overshoot.value < _NO_OVERSHOOT:
            yield "Square waves show no overshoot."
        else:
            over = f"{spoken(gist.overshoot)}{_beyond(gist.overshoot)}"
            yield f"Square waves overshoot by up to {over}."
    if gist.ringing is not None and gist.ringing.value >= 1.0:
        count = format_number(gist.ringing.value, 2)
        yield f"It rings for about {count} cycles{_beyond(gist.ringing)}."


def _at_rest(gist: Gist) -> Iterator[str]:
    if gist.noise is not None:
        yield f"At rest there is {spoken(gist.noise)} of noise at the output."
    if gist.offset is not None:
        offset = spoken_value(abs(gist.offset.value), gist.offset.unit)
        yield f"At rest there is {offset} of DC at the output{_beyond(gist.offset)}."


def _heat(gist: Gist) -> Iterator[str]:
    if gist.hottest is not None:
        place = gist.hottest.label[:1].lower() + gist.hottest.label[1:]
        hot = f"{spoken(gist.hottest)}{_beyond(gist.hottest)}"
        yield f"The hottest place was the {place}, at {hot}."


def _flags(gist: Gist) -> Iterator[str]:
    said: set[str] = set()
    for flag in gist.flags:
        if flag.severity in (Severity.STOP, Severity.WRONG) and flag.name not in said:
            said.add(flag.name)
            yield spoken_text(sentence(flag.says))


def _mark(view: RunView) -> Iterator[str]:
    total = run_marks(view).total
    if total is not None:
        yield f"By our scheme it earns {total.value:.1f} out of ten."


def _beyond(result: Result) -> str:
    """What a listener wants to know of a figure: nothing, as long as it is in spec."""
    return {
        Verdict.OUT_OF_SPEC: ", and that is beyond the limit",
        Verdict.TOO_CLOSE: ", too close to the limit to call",
    }.get(result.judgement.verdict, "")
