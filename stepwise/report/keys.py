"""The few figures that stand large at the top of a report."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge import Result, Verdict
from stepwise.quantities import dotted, with_signs
from stepwise.report.content import KeyFigure
from stepwise.report.gist import Gist, Powers
from stepwise.report.words import shown_figure

_MOST_KEYS = 4


def key_figures(gist: Gist) -> tuple[KeyFigure, ...]:
    """The few figures that stand large, each of the channel that is judged worst.

    Power comes first; of the others, those that are not in spec outrank those that are.
    """
    powers = tuple(_power_keys(gist))
    others = sorted(_other_keys(gist), key=_rank)
    return (*powers, *others)[:_MOST_KEYS]


def _rank(key: KeyFigure) -> int:
    verdict = key.judgement.verdict if key.judgement is not None else Verdict.NOTED
    return {Verdict.OUT_OF_SPEC: 0, Verdict.TOO_CLOSE: 1}.get(verdict, 2)


def _power_keys(gist: Gist) -> Iterator[KeyFigure]:
    for each in gist.powers[:2]:
        shown = each.gravest
        yield KeyFigure(
            f"Clean power, {with_signs(each.load)}",
            shown_figure(shown),
            dotted(_channel(shown), _claim_words(each)),
            shown.judgement,
        )


def _claim_words(powers: Powers) -> str:
    """What is claimed; what comes of it too where it is no claim about the figure itself."""
    if powers.claim is None or not powers.claim.is_clipped:
        return f"claimed {powers.claimed}" if powers.claimed else ""
    return f"claimed {powers.claimed}: {powers.claim_verdict or 'not judged'}"


def _other_keys(gist: Gist) -> Iterator[KeyFigure]:
    for label, result in (
        ("-3 dB, low end", gist.low_end),
        ("-3 dB, high end", gist.high_end),
        ("Hottest place", gist.hottest),
        ("DC at the output", gist.offset),
    ):
        if result is not None:
            note = result.label if result is gist.hottest else _channel(result)
            yield KeyFigure(label, shown_figure(result), note, result.judgement)


def _channel(result: Result) -> str:
    return f"{result.channel} channel" if result.channel else ""
