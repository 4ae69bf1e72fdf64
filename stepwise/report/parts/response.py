"""Frequency response: the picture, what it comes to, and the levels that were read."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from stepwise.judge import Result
from stepwise.quantities import format_value, require
from stepwise.report.content import Block, Figure, Panel, Point, ResponsePlot, Section
from stepwise.report.tabulate import by_channel
from stepwise.report.words import joined, shown_figure
from stepwise.run import RunView
from stepwise.steps import SweepFields

_ENDS = ("minus_3db_low", "minus_3db_high")
_CORNERS = ("corner_low", "corner_high")


def responses(view: RunView) -> Iterator[Section]:
    """One section for each sweep that has a level."""
    for step in view.run.plan.procedure.steps:
        if isinstance(step, SweepFields):
            found = [each for each in view.run.results() if each.step == step.id]
            if any(each.name == "level_db" and _is_finite(each) for each in found):
                yield Section(f"step-{step.id}", step.title, tuple(_blocks(view, step, found)))


def response_plot(view: RunView, step: SweepFields, found: Sequence[Result]) -> ResponsePlot:
    """The panels of a sweep, one for each channel that was read."""
    channels = dict.fromkeys(
        each.channel for each in found if each.name == "level_db" and _is_finite(each)
    )
    return ResponsePlot(
        tuple(_panel(view, step, [e for e in found if e.channel == name], name)
              for name in channels)
    )  # fmt: skip


def _panel(view: RunView, step: SweepFields, own: Sequence[Result], channel: str | None) -> Panel:
    curve = view.run.curve(step.id, channel)
    points = tuple(
        sorted(
            (
                Point(require(each.point, "Hz"), each.measure)
                for each in own
                if each.name == "level_db" and each.point is not None and _is_finite(each)
            ),
            key=lambda point: point.x,
        )
    )
    marks = tuple(
        (each.value, f"-3 dB at {format_value(each.value, 'Hz', digits=2)}")
        for each in own
        if each.name in _ENDS
    )
    return Panel(
        name=channel or "",
        points=points,
        model=curve.model if curve is not None else (),
        band=curve.band if curve is not None else None,
        low_db=curve.low_db if curve is not None else None,
        high_db=curve.high_db if curve is not None else None,
        marks=marks,
        corners=tuple(
            each.value
            for each in own
            if each.name in _CORNERS and points[0].x <= each.value <= points[-1].x
        ),
        outliers=curve.outliers if curve is not None else (),
    )


def _is_finite(result: Result) -> bool:
    """Whether it can be drawn; what cannot still stands in the tables."""
    return math.isfinite(result.value) and math.isfinite(result.measure.expanded_uncertainty)


def _blocks(view: RunView, step: SweepFields, found: Sequence[Result]) -> Iterator[Block]:
    plot = response_plot(view, step, found)
    yield Figure(plot, _caption(plot), _described(plot, found))
    summary = [
        each for each in found if each.name not in ("level_db", "reference", "reference_again")
    ]
    reference = [each for each in found if each.name in ("reference", "reference_again")]
    levels = sorted(
        (each for each in found if each.name == "level_db" and each.point is not None),
        key=lambda each: require(each.point or "", "Hz"),
    )
    order = view.run.plan.unit.channels
    for table in (
        by_channel("What the row of levels comes to", [*summary, *reference], order),
        by_channel(f"Levels as read, 0 dB at {step.reference}", levels, order),
    ):
        if table is not None:
            yield table


def _caption(plot: ResponsePlot) -> str:
    parts = ["Level against frequency. Dots: readings, with their expanded uncertainty (95 %)."]
    if any(panel.low_db is not None or panel.high_db is not None for panel in plot.panels):
        parts.append("Shaded: what the limit allows, within its band.")
    if any(panel.model for panel in plot.panels):
        corners = any(panel.corners for panel in plot.panels)
        diamonds = "; diamonds: its corners" if corners else ""
        parts.append(f"Line: the model fitted to the readings{diamonds}.")
    if any(panel.outliers for panel in plot.panels):
        parts.append("Hollow: a reading that does not belong to the others.")
    return " ".join(parts)


def _described(plot: ResponsePlot, found: Sequence[Result]) -> str:
    """The picture in words."""
    said = []
    for panel in plot.panels:
        levels = [point.y.value for point in panel.points]
        span = (
            f"{format_value(panel.points[0].x, 'Hz')} to {format_value(panel.points[-1].x, 'Hz')}"
        )
        marks = [
            f"{each.label} at {shown_figure(each)}"
            for each in found
            if each.name in ("minus_3db_low", "minus_3db_high")
            and (each.channel or "") == panel.name
        ]
        ends = f"; {joined(marks)}" if marks else ""
        name = f"{panel.name}: " if panel.name else ""
        said.append(
            f"{name}{len(panel.points)} levels from {span}, between "
            f"{format_value(min(levels), 'dB')} and {format_value(max(levels), 'dB')}{ends}"
        )
    return f"{'. '.join(said)}."
