"""A summary in plain text, to paste below a publication."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stepwise import __version__
from stepwise.judge import Result, Severity
from stepwise.quantities import dotted, format_uncertain, with_signs
from stepwise.report.gist import Gist, gist_of
from stepwise.report.headlines import verdict_sentence, where_words
from stepwise.report.parts.bench import accuracy_text
from stepwise.report.words import REHEARSAL, joined, sentence, shown_figure
from stepwise.run import RunView, run_marks
from stepwise.safe_text import plain


def notes_text(view: RunView) -> str:
    """A summary without markup, one fact a line.

    Args:
        view: A log as it was read.
    """
    return "".join(f"{plain(line)}\n" if line else "\n" for line in _lines(view))


def _lines(view: RunView) -> Iterator[str]:
    run = view.run
    review = run.review()
    gist = gist_of(run, review)
    day = (run.state.began_at or "")[:10]
    yield f"{gist.unit}: {run.plan.procedure.title}{f', {day}' if day else ''}"
    yield f"Verdict: {review.conclusion.words}. {verdict_sentence(view, gist, review)}"
    if gist.missed:
        yield f"Out of spec: {where_words(gist.missed)}"
    if run.state.begin.get("rehearsal"):
        yield REHEARSAL
    yield ""
    yield from _results(gist)
    total = run_marks(view).total
    if total is not None:
        yield f"Marks: {format_uncertain(total, '')} out of ten"
    yield from _flags(gist)
    yield ""
    yield from _made_with(view)


def _results(gist: Gist) -> Iterator[str]:
    for each in gist.powers:
        claim = f" (claimed: {each.claimed})" if each.claimed else ""
        is_clipped = each.claim is not None and each.claim.is_clipped
        clean = "" if is_clipped and each.loud else claim
        yield f"Clean power into {with_signs(each.load)}: {_by_channel(each.clean)}{clean}"
        if each.loud:
            loud = claim if is_clipped else ""
            yield f"Power at 10 % into {with_signs(each.load)}: {_by_channel(each.loud)}{loud}"
    named = (
        ("Response, -3 dB at the low end", gist.low_end),
        ("Response, -3 dB at the high end", gist.high_end),
        ("Flatness in the band", gist.flatness),
        ("Largest sag of the supply", gist.sag),
        ("Gain", gist.gain),
        ("Damping factor", gist.damping),
        ("Noise at the output", gist.noise),
        ("DC at the output", gist.offset),
        ("Largest overshoot of a square wave", gist.overshoot),
        ("Slowest rise", gist.rise),
    )
    for label, result in named:
        if result is not None:
            yield f"{label}: {_with_place(result)}"
    if gist.hottest is not None:
        yield f"Hottest place: {gist.hottest.label.lower()}, {_with_place(gist.hottest)}"


def _by_channel(powers: Sequence[Result]) -> str:
    return joined(
        [f"{shown_figure(each)}{f' {each.channel}' if each.channel else ''}" for each in powers]
    )


def _with_place(result: Result) -> str:
    place = dotted(result.channel, with_signs(result.load))
    verdict = result.judgement.verdict.value if result.judgement.limit is not None else ""
    behind = ", ".join(part for part in (place, verdict) if part)
    return f"{shown_figure(result)}{f' ({behind})' if behind else ''}"


def _flags(gist: Gist) -> Iterator[str]:
    said = [flag for flag in gist.flags if flag.severity is not Severity.NOTE]
    if said:
        yield ""
        yield "Flags"
    for flag in said:
        yield f"- {sentence(flag.says)}"


def _made_with(view: RunView) -> Iterator[str]:
    run = view.run
    meters = [f"{meter.title} {accuracy_text(meter)}".strip() for meter in run.plan.bench.meters]
    if meters:
        yield f"Measured with: {'; '.join(meters)}"
    yield "Every ± holds the true value in about 95 cases of 100."
    procedure = run.plan.procedure
    yield (
        f"Procedure {procedure.name}, revision {procedure.revision}; log {run.folder.name}; "
        f"stepwise {__version__}"
    )
