"""What a person finds so, or not, of the things that a procedure has confirmed.

Most items are about what the person does, and are done. A few are about what the board does;
they are known by their words, as the shipped procedures say them.
"""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from stepwise.rehearsal.board import Board

_AT_ONCE = 1.0
"""What people still call at once [s] (common practice, no source)."""

_SEEN = MappingProxyType[str, Callable[[Board], bool]](
    {
        "at once when switched off": lambda board: board.quiet_after_s <= _AT_ONCE,
    }
)
"""Words of an item -> whether a person at this board finds it so."""


def is_so(ask: str, board: Board) -> bool:
    """Whether an item is confirmed.

    Args:
        ask: The item, as the procedure words it.
        board: What is looked at.
    """
    return all(finds(board) for words, finds in _SEEN.items() if words in ask)
