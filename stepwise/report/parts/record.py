"""Where the record of a run is, whether it is whole, and what made it."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise import __version__
from stepwise.quantities import with_signs
from stepwise.report.content import Block, Facts, Listing, Section
from stepwise.run import Otherwise, RunView


def record(view: RunView) -> Section:
    """The log, its integrity and the versions."""
    changed = tuple(_otherwise(each) for each in view.otherwise)
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
    yield "Integrity", _integrity(view)
    if run.state.resumed:
        times = run.state.resumed
        yield "Carried on", f"{times} time{'s' if times > 1 else ''} after it had been left"
    yield "Made with", f"stepwise {run.state.begin.get('version') or 'of an unknown version'}"
    yield "Report by", f"stepwise {__version__}"
    if agrees:
        yield "Agreement", "this version works out what was shown at the bench"
    if run.state.unknown:
        yield "Not understood", f"{len(run.state.unknown)} lines of kinds that this version lacks"


def _integrity(view: RunView) -> str:
    """What was seen of the journal; a report opens no file, so none of those beside it."""
    record = view.record
    if record.damages:
        lines = ", ".join(str(damage.line) for damage in record.damages)
        return f"DAMAGED at line {lines}; nothing after the first damage is used"
    said = "whole: every line agrees with its hash, none is missing between"
    if record.torn is not None:
        said = "whole but for a last line that was cut off and never told as kept"
    beside = "; the files attached were not looked at" if view.run.state.attachments else ""
    return said + beside


def _otherwise(each: Otherwise) -> str:
    return (
        f"{with_signs(each.where)}: shown as {each.shown or 'nothing'}; now {each.now or 'nothing'}"
    )
