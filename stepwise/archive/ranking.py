"""Where a unit stands among all that were tested: finished values, no database in them."""

from __future__ import annotations

from dataclasses import dataclass

from stepwise.archive.query import LogRow, figure_text
from stepwise.quantities import with_signs


@dataclass(frozen=True, slots=True)
class Standing:
    """The place of one figure among those of all units."""

    name: str
    """Name of the result."""
    label: str
    """What people call it: "Clean power"."""
    load: str
    """Label of the load; empty where none belongs to it."""
    value: float
    uncertainty: float | None
    """Expanded; None where nobody says how sure it is."""
    unit: str
    less_is_better: bool
    place: int
    """By the values alone, from 1."""
    best_place: int
    worst_place: int
    """The places that the uncertainties leave possible; alike where none is in doubt."""
    of: int
    """How many units have such a figure, this one included."""

    @property
    def is_tied(self) -> bool:
        """Whether its neighbours are too near to tell apart."""
        return self.best_place != self.worst_place

    @property
    def what(self) -> str:
        """What is ranked, in words: "Clean power into 8 Ω"."""
        return f"{self.label} into {with_signs(self.load)}" if self.load else self.label

    @property
    def figure(self) -> str:
        """The value in figures."""
        return figure_text(self.value, self.uncertainty, self.unit)

    @property
    def places(self) -> str:
        """The place in words: "3rd of 12", "2nd to 5th of 12"."""
        if not self.is_tied:
            return f"{_ordinal(self.place)} of {self.of}"
        return f"{_ordinal(self.best_place)} to {_ordinal(self.worst_place)} of {self.of}"


@dataclass(frozen=True, slots=True)
class Ranking:
    """All the places of one unit."""

    log: LogRow
    among: str
    """Which units it was held against, in words."""
    standings: tuple[Standing, ...]


def _ordinal(number: int) -> str:
    ending = "th"
    if number % 100 not in (11, 12, 13):
        ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
