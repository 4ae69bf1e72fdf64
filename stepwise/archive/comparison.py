"""What a comparison of runs comes to: finished values for the command line, screens and reports."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.judge import Conclusion
from stepwise.quantities import NOT_A_FIGURE, Uncertain, format_uncertain

if TYPE_CHECKING:
    from stepwise.judge import Flag
    from stepwise.run import Curve


class Bearing(StrEnum):
    """What a difference of conditions means for the comparison, gravest first."""

    PREVENTS = "cannot be compared"
    MATTERS = "bears on results"
    NOTE = "good to know"


class Change(StrEnum):
    """What can be said of a difference."""

    MORE = "more"
    LESS = "less"
    SAME = "same"
    """Not more than the uncertainties allow."""
    UNKNOWN = ""
    """A value is missing, or nobody knows how sure it is."""


@dataclass(frozen=True, slots=True)
class Side:
    """One of the runs that are compared."""

    letter: str
    """A, B, … in the order given."""
    folder: Path
    unit: str
    serial: str
    procedure: str
    revision: int
    bench: str
    began: str
    """UTC, ISO 8601; empty where the log does not say."""
    episode: str
    conclusion: Conclusion


@dataclass(frozen=True, slots=True)
class Condition:
    """Something that is not the same on all sides."""

    what: str
    """Such as "supply"."""
    values: tuple[str, ...]
    """One for each side."""
    bearing: Bearing
    affects: str
    """Which results follow it, in words."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One side's value less that of the first side."""

    measure: Uncertain
    change: Change

    def figure(self, unit: str) -> str:
        """In figures, with its sign."""
        text = format_uncertain(self.measure, unit)
        return text if text.startswith(("-", "0 ")) or self.measure.value == 0.0 else f"+{text}"


@dataclass(frozen=True, slots=True)
class ComparedResult:
    """One result, side by side."""

    step: str
    channel: str | None
    load: str | None
    point: str | None
    name: str
    label: str
    unit: str
    values: tuple[Uncertain | None, ...]
    """One for each side; None where it has no such result."""
    differences: tuple[Difference | None, ...]
    """Against the first side; None for the first side itself, where a value is missing, and
    where the sides cannot be compared."""
    is_way: bool = False
    """Whether it is only a reading on the way to other results, such as a level that was set."""

    @property
    def figures(self) -> tuple[str, ...]:
        """The values in figures."""
        return tuple(
            NOT_A_FIGURE if value is None else format_uncertain(value, self.unit)
            for value in self.values
        )

    @property
    def differs(self) -> bool:
        """Whether a difference is more than the uncertainties allow."""
        changes = {each.change for each in self.differences if each is not None}
        return bool(changes & {Change.MORE, Change.LESS})

    @property
    def is_judged(self) -> bool:
        """Whether a difference could be held against its uncertainty."""
        return any(
            each is not None and each.change is not Change.UNKNOWN for each in self.differences
        )


@dataclass(frozen=True, slots=True)
class ComparedCurve:
    """A sweep of one channel, the sides laid over one another."""

    step: str
    channel: str | None
    points: tuple[ComparedResult, ...]
    """Levels [dB], by frequency."""
    frequencies: tuple[float, ...]
    """[Hz], one for each of `points`."""
    curves: tuple[Curve | None, ...]
    """For a picture, with band and model; one for each side."""


@dataclass(frozen=True, slots=True)
class ComparedFlag:
    """A flag, and on which sides it stands."""

    flag: Flag
    """As the first side that has it says it."""
    on: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two or more runs, side by side; the first is what the others are held against."""

    sides: tuple[Side, ...]
    conditions: tuple[Condition, ...]
    """What is not the same, gravest first."""
    results: tuple[ComparedResult, ...]
    curves: tuple[ComparedCurve, ...]
    flags: tuple[ComparedFlag, ...]

    @property
    def is_comparable(self) -> bool:
        """Whether nothing stands against comparing them."""
        return all(each.bearing is not Bearing.PREVENTS for each in self.conditions)

    @property
    def shown(self) -> tuple[ComparedResult, ...]:
        """The results without the readings that are only the way to others."""
        return tuple(each for each in self.results if not each.is_way)

    @property
    def differing(self) -> tuple[ComparedResult, ...]:
        """Results whose difference is more than the uncertainties allow."""
        return tuple(each for each in self.shown if each.differs)

    @property
    def judged(self) -> int:
        """How many results could be held against their uncertainty."""
        return sum(each.is_judged for each in self.shown)

    @property
    def sentence(self) -> str:
        """What it comes to, in one sentence."""
        if not self.judged:
            against = [each for each in self.conditions if each.bearing is Bearing.PREVENTS]
            if against:
                why = "; ".join(f"{each.what}: {each.affects}" for each in against)
                return f"Not held against one another, only side by side ({why})"
            return "Nothing was measured on both sides"
        count = len(self.differing)
        verb = "differs" if count == 1 else "differ"
        said = f"{count} of {self.judged} results {verb} by more than the uncertainties allow"
        chance = self.judged / 20.0
        return f"{said}; about {max(1.0, chance):.0f} in {self.judged} would by chance"
