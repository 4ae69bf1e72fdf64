"""What is said at the top of a report: the verdict in a sentence, and the three things to know."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from stepwise.bench import Claim
from stepwise.judge import Flag, Result, Severity
from stepwise.quantities import dotted, format_value, with_signs
from stepwise.report.gist import Gist, Powers
from stepwise.report.gone import GoneFlag, gone_flags
from stepwise.report.words import joined, sentence, shown_figure
from stepwise.run import Review, Run, RunView

_MOST_POINTS = 3


def verdict_sentence(view: RunView, gist: Gist, review: Review) -> str:
    """The verdict for somebody who has never seen the program, with what weakens it.

    One sentence; another for each stop, standing or withdrawn, and for what was left out.
    """
    said = _counted(gist, review)
    missed = gist.missed or review.refused
    if not review.complete and not missed:
        said += " so far"
    if review.conclusion.beside and not missed:
        said += f", but {review.conclusion.beside}"
    if not review.complete:
        said += "; the run is not finished, so more may follow"
    return " ".join([f"{said}.", *_missing(view, review), *_stops(view, review)])


def _missing(view: RunView, review: Review) -> Iterator[str]:
    """What has no answer, as far as it was left out or not reached."""
    count, asked = len(review.skipped), len(view.run.prompts)
    if count:
        yield f"{count} of {asked} {_is(count)} left out{review.limited_words}."
    if review.unanswered:
        yield f"{review.unanswered} of {asked} {_has(review.unanswered)} no answer."


def _stops(view: RunView, review: Review) -> Iterator[str]:
    """Every stop, also one that a reading taken again has withdrawn."""
    standing = [flag for flag in review.flags if flag.severity is Severity.STOP]
    if standing:
        yield f"A stop stands: {_named(standing)}."
    gone = [flag for flag in gone_flags(view) if flag.is_stop]
    if gone:
        yield f"A stop was shown and withdrawn: {_named(gone)}."


def _named(flags: Sequence[Flag | GoneFlag]) -> str:
    """Flags by name, each with its place."""
    names = []
    for flag in flags:
        place = _place_words(flag.channel, flag.load)
        names.append(f"{flag.name.replace('-', ' ')}{f' ({place})' if place else ''}")
    return joined(list(dict.fromkeys(names)))


def _counted(gist: Gist, review: Review) -> str:
    parts = []
    if gist.missed:
        miss = "misses its limit" if len(gist.missed) == 1 else "miss their limits"
        parts.append(f"{len(gist.missed)} of {gist.judged} results {miss}")
    if review.refused:
        count = len(review.refused)
        parts.append(f"{count} thing{'s' if count > 1 else ''} to be confirmed {_is(count)} not so")
    if gist.close:
        parts.append(f"{len(gist.close)} of {gist.judged} {_is(len(gist.close))} too close to call")
    if parts:
        return joined(parts)
    if not gist.judged:
        return "Nothing was held against a limit"
    return f"All {gist.judged} results that have a limit are inside it"


def _is(count: int) -> str:
    return "is" if count == 1 else "are"


def _has(count: int) -> str:
    return "has" if count == 1 else "have"


@dataclass(frozen=True, slots=True)
class _Point:
    """A sentence, with the results out of spec that it names."""

    text: str
    names: tuple[Result, ...] = ()


def points(run: Run, review: Review, gist: Gist) -> tuple[str, ...]:
    """The things that matter most, gravest first; everything that is out of spec is named."""
    grave: list[_Point] = []
    for each in _grave(run, review, gist):
        if each not in grave and len(grave) < _MOST_POINTS:
            grave.append(each)
    if _unnamed(gist, grave):
        grave = grave[: _MOST_POINTS - 1]
    texts = [each.text for each in grave]
    others = _unnamed(gist, grave)
    if others:
        also = "Also out" if any(each.names for each in grave) else "Out"
        texts.append(f"{also} of spec: {where_words(others)}.")
    told = filter(None, (power_words(gist), response_words(run, gist), heat_words(gist)))
    return (*texts, *islice(told, _MOST_POINTS - len(texts)))


def _unnamed(gist: Gist, said: Sequence[_Point]) -> list[Result]:
    named = [result for each in said for result in each.names]
    return [each for each in gist.missed if not any(each is result for result in named)]


def where_words(results: Sequence[Result]) -> str:
    """Results by their labels, each with its places: "Sag (left · 8 Ω, right · 8 Ω); ..."."""
    by_label: dict[str, list[str]] = {}
    for result in results:
        by_label.setdefault(result.label, []).append(_place(result))
    named = []
    for label, places in by_label.items():
        where = ", ".join(dict.fromkeys(filter(None, places)))
        named.append(f"{label} ({where})" if where else label)
    return "; ".join(named)


def _grave(run: Run, review: Review, gist: Gist) -> Iterator[_Point]:
    yield from map(_Point, _flagged(gist, (Severity.STOP, Severity.WRONG)))
    yield from _missed(gist)
    for line in review.refused:
        yield _Point(f"Not confirmed: {sentence(run.prompt(line.key).ask)}")
    yield from map(_Point, _flagged(gist, (Severity.LOOK,)))
    yield from map(_Point, _too_close(gist))


def _flagged(gist: Gist, severities: tuple[Severity, ...]) -> Iterator[str]:
    """One sentence for each flag, however many channels and loads it stands at."""
    by_name: dict[str, list[Flag]] = {}
    for flag in gist.flags:
        if flag.severity in severities:
            by_name.setdefault(flag.name, []).append(flag)
    for flags in by_name.values():
        first, *others = flags
        places = [_place_words(flag.channel, flag.load) for flag in others]
        also = f" The same flag stands for {joined(places)}." if all(places) and places else ""
        yield sentence(first.says) + also


def _place_words(channel: str | None, load: str | None) -> str:
    if channel and not load:
        return f"the {channel} channel"
    return dotted(channel, with_signs(load))


def _missed(gist: Gist) -> Iterator[_Point]:
    """Results out of spec, those of one label and limit together.

    Where a flag stands at the place of each of them, the flag is what matters of it.
    """
    flagged = {
        (flag.step, flag.channel, flag.load)
        for flag in gist.flags
        if flag.severity is not Severity.NOTE
    }
    for label, results in _by_label(gist.missed):
        if any((each.step, each.channel, each.load) not in flagged for each in results):
            yield _Point(_held_against(label, results), tuple(results))


def _by_label(results: Sequence[Result]) -> Iterator[tuple[str, list[Result]]]:
    """Results together that are called alike and held against the same limit."""
    found: dict[tuple[str, str], list[Result]] = {}
    for result in results:
        limit = result.judgement.limit
        key = (result.label, limit.text if limit is not None else "")
        found.setdefault(key, []).append(result)
    for (label, _), alike in found.items():
        yield label, alike


def _held_against(label: str, results: list[Result]) -> str:
    figures = [
        " ".join(part for part in (shown_figure(each), _behind(each)) if part) for each in results
    ]
    limit = results[0].judgement.limit
    wanted = f", where {limit.text} is wanted" if limit is not None else ""
    return f"{label}: {joined(figures)}{wanted}."


def _behind(result: Result) -> str:
    """Where a result was found and, where that is open, how likely it is in spec."""
    parts = ", ".join(filter(None, (_place(result), result.judgement.likely)))
    return f"({parts})" if parts else ""


def _place(result: Result) -> str:
    return dotted(result.channel, with_signs(result.load))


def _too_close(gist: Gist) -> Iterator[str]:
    for label, results in _by_label(gist.close):
        yield _held_against(f"{label} is too close to call", results)


def power_words(gist: Gist) -> str:
    """Clean power of the weaker channel into each load, against what is claimed."""
    if not gist.powers:
        return ""
    had = [f"{shown_figure(each.weakest)} into {with_signs(each.load)}" for each in gist.powers]
    claims = [_claim_words(each, each.claim) for each in gist.powers if each.claim is not None]
    weaker = " on the weaker channel" if any(len(each.clean) > 1 for each in gist.powers) else ""
    claimed = f"; claimed {_is(len(claims))} {joined(claims)}" if claims else ""
    return f"Clean power is {joined(had)}{weaker}{claimed}."


def _claim_words(powers: Powers, claim: Claim) -> str:
    """A claim with its load; one that is not about clean power with what it is about."""
    said = f"{format_value(claim.power, 'W')} into {with_signs(powers.load)}{claim.at}"
    if not claim.is_clipped:
        return said
    if not powers.loud:
        return f"{said}, where it was not read"
    there = min(powers.loud, key=lambda result: result.value)
    return f"{said}, where it gives {shown_figure(there)}"


def response_words(run: Run, gist: Gist) -> str:
    """How far the response reaches before it has fallen by 3 dB."""
    low, high = gist.low_end, gist.high_end
    if low is None and high is None:
        return ""
    ends = []
    if low is not None:
        ends.append(f"at {shown_figure(low)} at the low end")
    if high is not None:
        ends.append(f"at {shown_figure(high)} at the high end")
    either = " on whichever channel falls first" if len(run.plan.unit.channels) > 1 else ""
    return f"The response has fallen by 3 dB {joined(ends)}{either}."


def heat_words(gist: Gist) -> str:
    """The hottest place."""
    if gist.hottest is None:
        return ""
    place = gist.hottest.label[:1].lower() + gist.hottest.label[1:]
    return f"The hottest place was the {place}, at {shown_figure(gist.hottest)}."
