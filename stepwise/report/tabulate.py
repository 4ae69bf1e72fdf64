"""Results as rows and columns: a row for each thing, a column for each channel."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from stepwise.judge import Result
from stepwise.quantities import with_signs
from stepwise.report.content import Cell, Table
from stepwise.report.words import shown_figure

NOT_READ = Cell("—", is_figure=True)
"""What stands where there is no result."""

_Row = tuple[str, str, str, str | None, str | None]
"""Step, name, label, load, point: what makes results of several channels one row."""


def figure_cell(result: Result | None) -> Cell:
    """A result in figures with its verdict and its place in the limit."""
    if result is None:
        return NOT_READ
    limit = result.judgement.limit
    if limit is None:
        return Cell(shown_figure(result), is_figure=True)
    at = limit.position(result.value)
    reach = abs(limit.position(result.value + (result.measure.stated_uncertainty or 0.0)) - at)
    return Cell(shown_figure(result), result.judgement, is_figure=True, bar=(at, reach))


def by_channel(caption: str, results: Sequence[Result], order: Sequence[str]) -> Table | None:
    """Results with a column for each channel that has any; None without results.

    Args:
        caption: What the table shows.
        results: In the order in which their rows shall stand; of several steps perhaps, which
            are named where rows would look alike without.
        order: Of the columns: the unit's channels.
    """
    if not results:
        return None
    channels = _in_order({result.channel: None for result in results}, order)
    rows: dict[_Row, dict[str | None, Result]] = {}
    for result in results:
        rows.setdefault(_row_of(result), {})[result.channel] = result
    has_loads = any(load for *_, load, _ in rows)
    steps = tuple(dict.fromkeys(step for step, *_ in rows))
    has_steps = len({row[2:] for row in rows}) < len(rows) and len(steps) > 1
    has_limits = any(result.judgement.limit is not None for result in results)
    heads = ["What", *(["Step"] if has_steps else []), *(["Load"] if has_loads else [])]
    first = len(heads)
    heads += [channel or "Result" for channel in channels]
    if has_limits:
        heads.append("Limit")
    made = tuple(
        (
            Cell(label),
            *([Cell(step)] if has_steps else []),
            *([Cell(with_signs(load))] if has_loads else []),
            *_found(found, channels, has_limits=has_limits),
        )
        for (step, _, label, load, _), found in rows.items()
    )
    return Table(caption, tuple(heads), made, frozenset(range(first, first + len(channels))))


def _in_order(channels: Iterable[str | None], order: Sequence[str]) -> tuple[str | None, ...]:
    """The channels as the unit has them; what belongs to none comes last."""
    places = {channel: place for place, channel in enumerate(order)}
    return tuple(sorted(channels, key=lambda each: places.get(each or "", len(places))))


def _row_of(result: Result) -> _Row:
    return (result.step, result.name, result.label, result.load, result.point)


def _found(
    found: dict[str | None, Result], channels: Sequence[str | None], *, has_limits: bool
) -> tuple[Cell, ...]:
    cells = [figure_cell(found.get(channel)) for channel in channels]
    if has_limits:
        limits = (each.judgement.limit for each in found.values())
        texts = tuple(dict.fromkeys(limit.text for limit in limits if limit is not None))
        cells.append(Cell("; ".join(texts)))
    return tuple(cells)
