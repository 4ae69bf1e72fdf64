"""Where a unit stands among all that were tested."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from stepwise.tui.screens.dialogs import Reading
from stepwise.tui.widgets.columns import fit

if TYPE_CHECKING:
    from stepwise.archive import Ranking

_NAME, _FIGURE = 30, 18


def _named(what: str) -> str:
    """What was ranked in a column; where it has no room, the load at its end stays."""
    label, into, load = what.rpartition(" into ")
    if not into:
        return fit(what, _NAME)
    return fit(fit(label, min(len(label), _NAME - len(into + load))) + into + load, _NAME)


class RankingScreen(Reading):
    """One line a figure: the value, and its places."""

    def __init__(self, ranking: Ranking) -> None:
        super().__init__()
        self._ranking = ranking

    def text(self) -> Content:
        """All places of the unit."""
        log = self._ranking.log
        head = Content.assemble((log.unit, "bold $live"), f" · {log.procedure} · {log.name}")
        among = Content(
            f"Among the {self._ranking.among}, of several channels or places the worst:"
        )
        rows = [
            Content.assemble(
                _named(each.what),
                " ",
                fit(each.figure, _FIGURE),
                " ",
                (each.places, "bold"),
            )
            for each in self._ranking.standings
        ]
        found = Content("\n").join(rows) if rows else Content("Nothing to rank by was found.")
        close = Content.styled(
            "Two places mean that the uncertainties leave both open. Esc closes this.", "$faint"
        )
        return Content("\n\n").join([head, among, found, close])
