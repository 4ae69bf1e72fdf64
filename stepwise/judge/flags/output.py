"""The output stage against its rails: current limiting, and swing that gets lost."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import difference, surely_above
from stepwise.quantities import format_value, with_signs

_CREST = math.sqrt(2.0)
_STAGE_OHMS = 1.0
"""[ohm] What a class-AB stage loses for each ampere more: emitter resistors of 0.1 to 0.5, the
devices themselves, drivers that must give more. Common practice, no source."""
_RIPPLE = 1.0
"""[V] What the troughs of the ripple take besides, as the rail was read as a mean: half of an
ampere more on 5 mF at 100 Hz. I / (4 f C), worked example."""
_SOFT = 0.4
"""[ohm] A damping factor of 20 into 8 ohm, below which a loudspeaker's own resistance is no
longer all that counts: common practice, no source."""
_MUCH_LOST = 6.0
_SHARE_LOST = 0.15
"""A class-AB stage stops 2 V to 5 V below its rails; this much [V] and this share of the rail [1]
is more than that. Common practice, no source."""


def find(findings: Findings) -> Iterator[Flag]:
    """A lower load that gets less than its rails allow; one load that stops far below them."""
    by_pass: dict[tuple[str, str | None], list[tuple[float, Result]]] = {}
    for loss in findings.named("headroom_loss"):
        if loss.load is not None:
            ohms = float(loss.load.split()[0])
            by_pass.setdefault((loss.step, loss.channel), []).append((ohms, loss))
        yield from _lost(loss, findings)
    for source in findings.named("source_impedance"):
        if surely_above(source.measure, _SOFT):
            yield _gives_way(source, findings)
    for losses in by_pass.values():
        ordered = sorted(losses, key=lambda each: -each[0])
        for high, low in pairwise(ordered):
            yield from _limited(high, low, findings)


def _limited(
    high: tuple[float, Result], low: tuple[float, Result], findings: Findings
) -> Iterator[Flag]:
    """The swing lost below the rails grows by more than the current explains."""
    before, after = _level(high[1], findings), _level(low[1], findings)
    if before is None or after is None:
        return
    peak, peak_before = _CREST * after.value / low[0], _CREST * before.value / high[0]
    explained = _STAGE_OHMS * max(peak - peak_before, 0.0) + _RIPPLE
    if not surely_above(difference(low[1].measure, high[1].measure), explained):
        return
    loss = low[1]
    yield Flag(
        name="current-limited",
        severity=Severity.LOOK,
        step=loss.step,
        channel=loss.channel,
        load=loss.load,
        says=f"{with_signs(loss.load)} gets less than the rails allow"
        f"{evidence.channel_words(loss)}: the output stops at "
        f"{format_value(peak, 'A', digits=2)} peak.",
        evidence=(
            evidence.of(after),
            evidence.here(loss),
            evidence.here(high[1]),
            evidence.of_value("More that the current explains", explained, "V"),
        ),
        likely=(
            "The protection limits the current: set too low, or its sensing resistor too high",
            "Drivers or output devices lack current gain; one of a parallel pair is open",
            "The level was read before the tops had quite flattened",
        ),
        next_try="Look at the tops: a limiter cuts one side or slants it, a rail cuts flat. Then "
        "measure the emitter resistors, cold and dead.",
        keys=evidence.keys_of(after, before),
    )


def _level(loss: Result, findings: Findings) -> Result | None:
    return findings.first("level", step=loss.step, channel=loss.channel, load=loss.load)


def _lost(loss: Result, findings: Findings) -> Iterator[Flag]:
    level = _level(loss, findings)
    if level is None:
        return
    rail = loss.value + _CREST * level.value
    if not surely_above(loss.measure, max(_MUCH_LOST, _SHARE_LOST * rail)):
        return
    beside = evidence.beside(loss, findings, "rail_plus", "rail_minus")
    yield Flag(
        name="swing-lost",
        severity=Severity.LOOK,
        step=loss.step,
        channel=loss.channel,
        load=loss.load,
        says=f"The output stops {evidence.shown(loss)} below its rail"
        f"{evidence.load_words(loss)}{evidence.channel_words(loss)}; 2 V to 5 V is usual.",
        evidence=(evidence.of(level), *map(evidence.of, beside), evidence.of(loss)),
        likely=(
            "One side clips before the other: a bias, bootstrap or driver fault on that side",
            "The protection limits the current",
            "The level was read before the tops had quite flattened",
        ),
        next_try="Look which half flattens first. Both alike: take the level again, closer to "
        "clipping. One only: measure the DC points of that side's driver.",
        keys=evidence.keys_of(level, loss),
    )


def _gives_way(source: Result, findings: Findings) -> Flag:
    where = {"step": source.step, "channel": source.channel}
    names = ("level_open", "level_4", "damping_factor")
    beside = findings.firsts(*names, **where)
    return Flag(
        name="output-impedance-high",
        severity=Severity.LOOK,
        step=source.step,
        channel=source.channel,
        load=None,
        says=f"The output gives way like {evidence.shown(source)} in series"
        f"{evidence.channel_words(source)}: it hardly damps a loudspeaker.",
        evidence=(evidence.of(source), *map(evidence.of, beside)),
        likely=(
            "A poor joint, a burnt relay contact or a thin track between feedback and terminal",
            "The level was read at the load, with the leads' resistance in it",
            "The feedback is taken before the output inductor or a fuse",
        ),
        next_try="Take the loaded level again with the meter's leads on the board's own output "
        "terminals; then follow the tone from the emitter resistors outwards.",
        keys=evidence.keys_of(*beside[1:2], source),
    )
