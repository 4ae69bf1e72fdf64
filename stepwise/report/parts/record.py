"""Where the record of a run is, whether it is whole, and what made it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from stepwise import __version__
from stepwise.judge import Result
from stepwise.quantities import format_value
from stepwise.report.content import Block, Facts, Listing, Section
from stepwise.report.words import shown_place
from stepwise.run import RunView

_SAME = 1e-6
"""Relative difference from which a result is another one; below it is another machine's
rounding."""
_DIGITS = 4

_Identity = tuple[object, ...]


def record(view: RunView) -> Section:
    """The log, its integrity and the versions."""
    changed = differences(view)
    blocks: list[Block] = [Facts(tuple(_facts(view, agrees=not changed)))]
    if view.warnings:
        # Without the path: where the log lay is nobody's business but its owner's.
        path = f"{view.record.path}:"
        blocks.append(
            Listing(tuple(each.replace(path, "line ").lstrip() for each in view.warnings), "Damage")
        )
    if changed:
        blocks.append(Listing(changed, "Worked out differently now than at the bench"))
    return Section("record", "The record", tuple(blocks))


def _facts(view: RunView, *, agrees: bool) -> Iterator[tuple[str, str]]:
    run, record = view.run, view.record
    yield "Log", run.folder.name
    yield "Lines", f"{len(record.events)}, each sealed with the hash of the one before"
    if record.is_whole:
        yield "Integrity", "whole: every line is as it was written, none is missing between"
    elif record.damages:
        lines = ", ".join(str(damage.line) for damage in record.damages)
        yield "Integrity", f"DAMAGED at line {lines}; nothing after the first damage is used"
    else:
        yield "Integrity", "whole but for a last line that was cut off and never told as kept"
    if run.state.resumed:
        times = run.state.resumed
        yield "Carried on", f"{times} time{'s' if times > 1 else ''} after it had been left"
    yield "Made with", f"stepwise {run.state.begin.get('version') or 'of an unknown version'}"
    yield "Report by", f"stepwise {__version__}"
    if agrees:
        yield "Agreement", "this version works out what was shown at the bench"
    if run.state.unknown:
        yield "Not understood", f"{len(run.state.unknown)} lines of kinds that this version lacks"


def differences(view: RunView) -> tuple[str, ...]:
    """What was shown at the bench and is worked out differently now, a sentence each."""
    now = {_identity(result): result for result in view.run.results()}
    shown: dict[_Identity, Mapping[str, object]] = {}
    for event in view.record.events:
        held = event.data.get("shown")
        results = held.get("results") if isinstance(held, Mapping) else None
        for each in results if isinstance(results, list | tuple) else ():
            if isinstance(each, Mapping):
                shown[tuple(each.get(name) for name in _PLACE)] = each
    return tuple(
        said for key, each in shown.items() if (said := _difference(each, now.get(key))) is not None
    )


_PLACE = ("step", "channel", "load", "point", "name")


def _identity(result: Result) -> _Identity:
    return tuple(getattr(result, name) for name in _PLACE)


def _difference(shown: Mapping[str, object], now: Result | None) -> str | None:
    """One difference; a result that a correction took away is none."""
    before = shown.get("value")
    if now is None or not isinstance(before, int | float):
        return None
    verdict = str(shown.get("verdict", ""))
    is_same = abs(now.value - before) <= _SAME * max(abs(now.value), abs(before))
    if is_same and verdict == now.judgement.verdict.value:
        return None
    where = shown_place(now.channel, now.load)
    was = f"{format_value(float(before), now.unit, digits=_DIGITS)}, {verdict}"
    found = f"{format_value(now.value, now.unit, digits=_DIGITS)}, {now.judgement.verdict.value}"
    what = f"{now.label} ({where})" if where else now.label
    return f"{what}: shown as {was}; now {found}"
