"""The small bar that shows where within its limit a value lies."""

from __future__ import annotations

from stepwise.judge import Judgement

WIDTH = 8


def limit_bar(judgement: Judgement | None, position: float | None, width: int = WIDTH) -> str:
    """Draw the bar: `├──●──┤`, with the value beyond an edge where it is outside.

    Args:
        judgement: Holds the limit, so that an open side is drawn open.
        position: Where the value lies (`Limit.position`); None draws nothing.
        width: Cells, at least 7.

    Returns:
        Exactly `width` cells, without colour: the place of the dot is the message.
    """
    limit = judgement.limit if judgement is not None else None
    if position is None or limit is None:
        return " " * width
    left = "·" if limit.low is None else "├"
    right = "·" if limit.high is None else "┤"
    inner = width - 4
    cells = [" ", left, *("─" * inner), right, " "]
    cells[_cell(position, inner)] = "●"
    return "".join(cells)


def _cell(place: float, inner: int) -> int:
    if place < 0.0:
        return 0
    if place > 1.0:
        return inner + 3
    return 2 + min(inner - 1, int(place * inner))
