"""What is read and shown as tables alone: volts and currents, square waves, heat."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.report.content import Section
from stepwise.report.tabulate import by_channel
from stepwise.run import RunView
from stepwise.steps import ReadingsFields, SquareFields, StepFields, ThermalFields

_CAPTIONS: tuple[tuple[type[StepFields], str], ...] = (
    (SquareFields, "What the oscilloscope showed"),
    (ThermalFields, "Temperatures"),
    (ReadingsFields, "Readings, and what follows from them"),
)


def tables(view: RunView) -> Iterator[Section]:
    """One section for each step of these kinds that has a result."""
    results = view.run.results()
    for step in view.run.plan.procedure.steps:
        caption = next((words for kind, words in _CAPTIONS if isinstance(step, kind)), None)
        if caption is None:
            continue
        own = [each for each in results if each.step == step.id]
        table = by_channel(caption, own, view.run.plan.unit.channels)
        if table is not None:
            yield Section(f"step-{step.id}", step.title, (table,))
