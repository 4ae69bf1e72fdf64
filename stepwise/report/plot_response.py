"""Levels against frequency, drawn by matplotlib: a panel for each channel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from stepwise.quantities import format_value
from stepwise.report.content import Panel, ResponsePlot
from stepwise.report.plot_look import Look, prepare, set_margins, short, shown

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEVEL_STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 3.0, 6.0, 10.0, 20.0)
"""Between two lines of the grid [dB]."""
_MOST_LINES = 7.0
_DECADES = (1.0, 10.0, 100.0, 1e3, 10e3, 100e3, 1e6)


def response_figure(plot: ResponsePlot, look: Look) -> Figure:
    """Panels under one another over one frequency axis."""
    from matplotlib.figure import Figure

    count = len(plot.panels)
    height = look.height or 0.6 + 1.9 * count
    figure = Figure(figsize=(look.width, height), facecolor="none")
    axes = figure.subplots(count, 1, sharex=True, sharey=True, squeeze=False)[:, 0]
    across, down = _frequency_span(plot.panels), _level_span(plot.panels)
    for place, (panel, at) in enumerate(zip(plot.panels, axes, strict=True)):
        prepare(at, look)
        at.set_xscale("log")
        at.set_xlim(*across)
        at.set_ylim(*down)
        _frequency_ticks(at, across, look, is_last=place == count - 1)
        _level_ticks(at, down, plot.panels, look)
        _panel(at, panel, look)
    set_margins(figure, look, left=0.62, right=0.15, top=0.3, bottom=0.42)
    figure.subplots_adjust(hspace=0.34)
    return figure


def _frequency_span(panels: Sequence[Panel]) -> tuple[float, float]:
    heard = [point.x for panel in panels for point in panel.points]
    return min(heard) / 1.25, max(heard) * 1.25


def _level_span(panels: Sequence[Panel]) -> tuple[float, float]:
    edges = [0.0]
    for panel in panels:
        for point in panel.points:
            reach = point.y.expanded_uncertainty
            edges += [point.y.value - reach, point.y.value + reach]
        edges += [edge for edge in (panel.low_db, panel.high_db) if edge is not None]
    room = 0.08 * (max(edges) - min(edges)) + 0.3
    return min(edges) - room, max(edges) + room


def _frequency_ticks(at: Axes, across: tuple[float, float], look: Look, *, is_last: bool) -> None:
    ticks = [hertz for hertz in _DECADES if across[0] <= hertz <= across[1]]
    at.set_xticks(ticks, [format_value(hertz, "Hz") for hertz in ticks] if is_last else [])
    minor = [d * n for d in _DECADES for n in range(2, 10) if across[0] <= d * n <= across[1]]
    at.set_xticks(minor, [], minor=True)
    at.grid(visible=True, which="minor", axis="x", color=look.grid, linewidth=look.line * 0.25)
    at.tick_params(axis="x", labelbottom=is_last)


def _level_ticks(at: Axes, down: tuple[float, float], panels: Sequence[Panel], look: Look) -> None:
    """Lines of the grid, on the edges of the limit where that can be."""
    edges = [edge for each in panels for edge in (each.low_db, each.high_db) if edge is not None]
    fine = [each for each in _LEVEL_STEPS if (down[1] - down[0]) / each <= _MOST_LINES]
    on_edges = [
        step for step in fine if all(math.isclose(e, step * round(e / step)) for e in edges)
    ]
    step = (on_edges or fine or [40.0])[0]
    first = math.ceil(down[0] / step)
    ticks = [round(step * n, 3) for n in range(first, math.floor(down[1] / step) + 1)]
    at.set_yticks(ticks, [shown(f"{tick:+g} dB") if tick else "0 dB" for tick in ticks])
    at.axhline(0.0, color=look.faint, linewidth=look.line * 0.6)


def _panel(at: Axes, panel: Panel, look: Look) -> None:
    _limit_band(at, panel, look)
    if panel.model:
        row, levels = zip(*panel.model, strict=True)
        at.plot(row, levels, color=look.model, linewidth=look.line, zorder=3)
        at.plot(
            panel.corners, [_level_at(panel.model, hertz) for hertz in panel.corners], "D",
            color=look.model, markersize=look.dot * 1.3, markerfacecolor=look.paper,
            markeredgewidth=look.line * 0.8, zorder=3.5,
        )  # fmt: skip
    at.errorbar(
        [point.x for point in panel.points],
        [point.y.value for point in panel.points],
        yerr=[point.y.expanded_uncertainty for point in panel.points],
        fmt="o", color=look.ink, markersize=look.dot, markeredgewidth=0.0,
        elinewidth=look.line * 0.7, capsize=0.0, zorder=4,
    )  # fmt: skip
    odd = [point for point in panel.points if point.x in panel.outliers]
    at.plot(
        [point.x for point in odd], [point.y.value for point in odd], "o", color=look.ink,
        markerfacecolor=look.paper, markersize=look.dot * 1.2, markeredgewidth=look.line * 0.8,
        zorder=5,
    )  # fmt: skip
    for hertz, words in panel.marks:
        _mark(at, hertz, words, look)
    if panel.name:
        at.set_title(
            short(panel.name), loc="left", pad=look.font * 0.45, size=look.font * 1.05,
            weight="bold", color=look.ink,
        )  # fmt: skip


def _level_at(model: Sequence[tuple[float, float]], hertz: float) -> float:
    """Level of the model at the point of it nearest to a frequency [dB]."""
    return min(model, key=lambda point: abs(math.log(point[0] / hertz)))[1]


def _mark(at: Axes, hertz: float, words: str, look: Look) -> None:
    """A stroke up from the floor of the panel, with its words beside it, towards the middle."""
    bottom, top = at.get_ylim()
    left, right = at.get_xlim()
    is_low = hertz < math.sqrt(left * right)
    at.plot(
        [hertz, hertz], [bottom, min(-3.0, top)], color=look.model,
        linewidth=look.line * 0.8, linestyle=(0, (3, 2)), zorder=2,
    )  # fmt: skip
    at.annotate(
        shown(words), (hertz, bottom + 0.06 * (top - bottom)),
        xytext=(look.font * (0.45 if is_low else -0.45), 0), textcoords="offset points",
        ha="left" if is_low else "right", va="bottom", color=look.model, size=look.font,
    )  # fmt: skip


def _limit_band(at: Axes, panel: Panel, look: Look) -> None:
    if panel.low_db is None and panel.high_db is None:
        return
    left, right = panel.band or at.get_xlim()
    bottom, top = at.get_ylim()
    low = panel.low_db if panel.low_db is not None else bottom
    high = panel.high_db if panel.high_db is not None else top
    at.fill_between([left, right], low, high, color=look.band, linewidth=0.0, zorder=0)
    for edge in (panel.low_db, panel.high_db):
        if edge is not None:
            at.plot([left, right], [edge, edge], color=look.limit, linewidth=look.line * 0.9)
