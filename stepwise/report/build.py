"""From a log to its report, once for all forms."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise import __version__
from stepwise.report.content import Report
from stepwise.report.gist import gist_of
from stepwise.report.headlines import points, verdict_sentence
from stepwise.report.keys import key_figures
from stepwise.report.parts import sections
from stepwise.report.words import REHEARSAL
from stepwise.run import RunView


def build_report(view: RunView) -> Report:
    """Everything that a report says, in blocks that know no format.

    Args:
        view: A log as it was read; a damaged one as far as it is sound.
    """
    run = view.run
    review = run.review()
    gist = gist_of(run, review)
    return Report(
        unit=run.plan.unit.name,
        title=run.plan.procedure.title,
        conclusion=review.conclusion,
        sentence=verdict_sentence(view, gist, review),
        points=points(run, review, gist),
        warnings=tuple(_warnings(view)),
        keys=key_figures(gist),
        sections=sections(view, review),
        began=(run.state.began_at or "")[:10],
        log=run.folder.name,
        version=__version__,
    )


def _warnings(view: RunView) -> Iterator[str]:
    """What must be known before any figure is believed."""
    if view.record.damages:
        first = view.record.damages[0].line
        yield f"The log is damaged from line {first} on; only what stands before is shown."
    if view.run.state.begin.get("rehearsal"):
        yield REHEARSAL
    if view.run.transcribed:
        yield "Transcribed from notes: nobody was led through the steps."
