"""Finding what is wrong with a step before anything starts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from stepwise.bench import RATINGS
from stepwise.errors import DimensionError, NotationError, did_you_mean
from stepwise.judge import LimitFields, check_limit
from stepwise.quantities import require, same_dimension
from stepwise.steps.scene import CLAIMED

Path = tuple[str | int, ...]
"""Place within a step: ("readings", 2, "limit", "max")."""


@dataclass(frozen=True, slots=True)
class StepProblem:
    """One thing wrong with a step."""

    path: Path
    what: str
    remedy: str = ""


@dataclass(slots=True)
class Checker:
    """Collects the problems of one step; knows the names that may be used there."""

    names: dict[str, str]
    """Name -> SI unit: ratings, claims, and readings of the steps before."""
    problems: list[StepProblem] = field(default_factory=list)

    def add(self, path: Path, what: str, remedy: str = "") -> None:
        """Report one problem."""
        self.problems.append(StepProblem(path, what, remedy))

    def quantity(self, path: Path, text: str | None, unit: str) -> float | None:
        """Read a quantity that must have the dimension of `unit`; report it otherwise."""
        if text is None:
            return None
        try:
            return require(text, unit)
        except NotationError as error:
            remedy = f"write for instance {error.nearest}" if error.nearest else ""
            self.add(path, f"“{text}” {error.reason}", remedy)
        except DimensionError as error:
            self.add(path, error.got, f"give {error.expected}")
        return None

    def positive(self, path: Path, text: str | None, unit: str) -> float | None:
        """The same for one that must be more than nothing: a frequency, a load, a capacitor."""
        value = self.quantity(path, text, unit)
        if value is None or value > 0.0:
            return value
        self.add(path, f"“{text}” is not above zero", "give more than nothing")
        return None

    def name(self, path: Path, name: str | None, unit: str) -> None:
        """Check that a name is known by now and is of the kind of `unit`; report it otherwise."""
        if name is None:
            return
        got = self.names.get(name)
        if got is None:
            self.unknown(path, name)
        elif not same_dimension(got, unit):
            self.add(path, f"“{name}” is in {got or 'no unit'}", f"name something in {unit}")

    def unknown(self, path: Path, name: str, others: Iterable[str] = ()) -> None:
        """Report a name that nothing has, with the nearest that something has."""
        known = sorted({*self.names, *others})
        self.add(path, f"nothing is called “{name}”", did_you_mean(name, known))

    def limit(self, path: Path, limit: LimitFields | None, unit: str | None) -> None:
        """Check a limit on something in `unit`; None where that unit is not known."""
        if limit is not None:
            for place, what, remedy in check_limit(limit, unit, self.names):
                self.add((*path, place), what, remedy)

    def limits(self, limits: object, units: Mapping[str, str]) -> None:
        """Check a `[step.limits]` table: one limit for each result name."""
        for name, unit in units.items():
            self.limit(("limits", name), getattr(limits, name, None), unit)


def starting_names() -> dict[str, str]:
    """Names that every procedure may use, each with its unit.

    Ratings, the claim for the load in use, and `rail_share`, the share of a rail that the output
    may swing over to one side.
    """
    return {**RATINGS, CLAIMED: "W", "rail_share": ""}
