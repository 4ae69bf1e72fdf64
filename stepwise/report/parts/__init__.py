"""The sections of a report, in the order in which they are read."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.report.content import Section
from stepwise.report.parts.bench import bench
from stepwise.report.parts.cautions import cautions
from stepwise.report.parts.done import confirmed, marks, remarks
from stepwise.report.parts.flags import corrections, flags
from stepwise.report.parts.left_out import left_out
from stepwise.report.parts.power import powers
from stepwise.report.parts.readings import tables
from stepwise.report.parts.record import record
from stepwise.report.parts.response import responses
from stepwise.report.parts.sheet import attention, sheet
from stepwise.report.parts.subject import subject
from stepwise.run import Review, RunView

__all__ = ["sections"]


def sections(view: RunView, review: Review) -> tuple[Section, ...]:
    """Everything that a report says below its headlines."""
    return tuple(section for section in _all(view, review) if section is not None)


def _all(view: RunView, review: Review) -> Iterator[Section | None]:
    yield subject(view)
    yield attention(view, review)
    yield flags(view)
    yield from powers(view)
    yield from responses(view)
    yield from tables(view)
    yield marks(view)
    yield remarks(view, review)
    yield left_out(view, review)
    yield corrections(view)
    yield confirmed(view, review)
    yield bench(view)
    yield cautions(view, review)
    yield record(view)
    yield sheet(view, review)
