"""The marks of a run, by the scheme of its procedure."""

from __future__ import annotations

from stepwise.judge import Marks, give_marks
from stepwise.run.run import Run
from stepwise.run.view import RunView


def run_marks(run: Run | RunView) -> Marks:
    """Mark a run.

    Args:
        run: A run, or a log that was read; only looked at.

    Returns:
        One line for each criterion; none where the procedure has no scheme.
    """
    live = run.run if isinstance(run, RunView) else run
    return give_marks(live.plan.procedure.marks, live.results())
