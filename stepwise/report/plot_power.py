"""Power against what is claimed, drawn by matplotlib: a row for each channel and load."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stepwise.quantities import format_value
from stepwise.report.content import PowerGroup, PowerPlot
from stepwise.report.plot_look import Look, prepare, set_margins, short

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_NAME_INCHES = 0.078
"""Width of a character at 8.5 point."""
_HEADROOM = 1.15
_OFFSET = 0.17
"""Between clean power and power at 10 %, in rows."""


def power_figure(plot: PowerPlot, look: Look) -> Figure:
    """A row for each channel and load: dots with whiskers, and a stroke at the claim."""
    from matplotlib.figure import Figure

    rows = [(group, bar) for group in plot.groups for bar in group.bars]
    places = _row_places(plot.groups)
    height = look.height or 0.55 + 0.36 * (places[-1] + 1.0)
    figure = Figure(figsize=(look.width, height), facecolor="none")
    at = figure.subplots()
    prepare(at, look)
    at.spines["left"].set_visible(False)
    at.grid(visible=False, axis="y")
    most = 0.0
    for (_, bar), place in zip(rows, places, strict=True):
        for power, offset, filled in ((bar.clean, 0.0, True), (bar.loud, _OFFSET, False)):
            if power is None:
                continue
            most = max(most, power.value + power.expanded_uncertainty)
            at.errorbar(
                power.value, place + offset, xerr=power.expanded_uncertainty, fmt="o",
                color=look.ink if filled else look.faint, markersize=look.dot * 1.25,
                markerfacecolor=look.ink if filled else look.paper,
                markeredgewidth=look.line * 0.8, elinewidth=look.line * 0.8, zorder=4,
            )  # fmt: skip
    most = max([most, *(group.claim for group in plot.groups if group.claim)])
    _claims(at, plot.groups, places, look)
    names = [short(f"{group.load} {bar.channel}".strip()) for group, bar in rows]
    at.set_yticks(places, names)
    at.tick_params(axis="y", labelcolor=look.ink)
    at.set_ylim(places[-1] + 0.7, -0.7)
    at.set_xlim(0.0, most * _HEADROOM)
    ticks = [tick for tick in at.get_xticks() if 0.0 <= tick <= most * _HEADROOM]
    at.set_xticks(ticks, [format_value(float(tick), "W") for tick in ticks])
    set_margins(figure, look, left=_name_room(names), right=0.3, top=0.12, bottom=0.36)
    return figure


def _name_room(names: Sequence[str]) -> float:
    """Room for the longest name [inch at 8.5 point]."""
    return max(0.95, 0.2 + _NAME_INCHES * max(len(name) for name in names))


def _row_places(groups: Sequence[PowerGroup]) -> list[float]:
    """Heights of the rows, a little air between the loads."""
    places, place = [], 0.0
    for group in groups:
        for _ in group.bars:
            places.append(place)
            place += 1.0
        place += 0.4
    return places


def _claims(at: Axes, groups: Sequence[PowerGroup], places: Sequence[float], look: Look) -> None:
    first = 0
    for group in groups:
        top, bottom = places[first] - 0.45, places[first + len(group.bars) - 1] + 0.45
        first += len(group.bars)
        if group.claim is None:
            continue
        at.plot([group.claim] * 2, [top, bottom], color=look.limit, linewidth=look.line * 1.6)
        at.annotate(
            group.claimed, (group.claim, top),
            xytext=(look.font * -0.4, 0), textcoords="offset points", ha="right", va="top",
            color=look.limit, size=look.font * 0.95,
        )  # fmt: skip
