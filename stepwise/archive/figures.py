"""The figures that logs are sorted and ranked by: of each result the lowest and the highest.

A unit has one power for each channel; what counts of several is the worse one, and which end
is the worse depends on the result.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from stepwise.archive.entry import Entry, EntryResult
from stepwise.archive.query import LARGEST_SIZE, MARK, PRICE, less_is_better

PER_RATING = "power_per_va"
_LEVEL = "level_db"
"""Points of a sweep: a curve, no figure."""

RANKED: Mapping[str, bool] = MappingProxyType(
    {
        MARK: False, "power": True, "power_at_ten_percent": True, PER_RATING: True, "sag": True,
        "corner_low": False, "corner_high": False, "flatness": False, "source_impedance": False,
        "temperature": False, PRICE: False,
    }
)  # fmt: skip
"""Figures that units are ranked by, in the order in which they are told; whether for each load
apart."""


def is_ranked(name: str, load: str) -> bool:
    """Whether units are ranked by that figure, into that load or into all."""
    by_load = RANKED.get(name)
    return by_load is not None and by_load is bool(load)


def worse_end(name: str) -> str:
    """Which end of several values is the worse one: "high" where less is better."""
    return "high" if less_is_better(name) else "low"


@dataclass(frozen=True, slots=True)
class Extremes:
    """The lowest and the highest of one result in one log."""

    name: str
    load: str
    """Label of the load; empty for all loads together."""
    label: str
    unit: str
    low: float
    low_uncertainty: float | None
    """Expanded, unit of `low`; the same for the highest."""
    high: float
    high_uncertainty: float | None


def entry_figures(entry: Entry) -> tuple[Extremes, ...]:
    """Everything that a log can be sorted and ranked by."""
    groups: dict[tuple[str, str], list[EntryResult]] = {}
    for result in entry.results:
        if result.name == _LEVEL:
            continue
        groups.setdefault((result.name, ""), []).append(result)
        if result.load:
            groups.setdefault((result.name, result.load), []).append(result)
    figures = tuple(_extremes(load, group) for (_, load), group in groups.items())
    return (*figures, *_derived(entry, figures))


def _extremes(load: str, group: list[EntryResult]) -> Extremes:
    first = group[0]
    # A procedure may use one name for two things; the first stands.
    alike = [each for each in group if each.unit == first.unit]
    low, high = min(alike, key=_size), max(alike, key=_size)
    # Of several places, such as rails or heatsinks, the one that counts gives its name.
    worse = high if worse_end(first.name) == "high" else low
    return Extremes(
        first.name, load, worse.label, first.unit,
        _size(low), low.uncertainty, _size(high), high.uncertainty,
    )  # fmt: skip


def _size(result: EntryResult) -> float:
    return abs(result.value) if result.name in LARGEST_SIZE else result.value


def _derived(entry: Entry, figures: tuple[Extremes, ...]) -> Iterator[Extremes]:
    if entry.mark is not None:
        value, spread = entry.mark.value, entry.mark.uncertainty
        yield Extremes(MARK, "", "Mark out of ten", "", value, spread, value, spread)
    if entry.price is not None:
        unit = entry.currency
        yield Extremes(PRICE, "", "Price", unit, entry.price, None, entry.price, None)
    if entry.transformer:
        for figure in figures:
            if figure.name == "power" and figure.load:
                yield _per_rating(figure, entry.transformer)


def _per_rating(power: Extremes, rating: float) -> Extremes:
    """Clean watts of one channel for each volt-ampere of the transformer."""

    def share(value: float | None) -> float | None:
        return None if value is None else value / rating

    return replace(
        power,
        name=PER_RATING,
        label="Clean power for each VA of the transformer",
        unit="",
        low=power.low / rating,
        low_uncertainty=share(power.low_uncertainty),
        high=power.high / rating,
        high_uncertainty=share(power.high_uncertainty),
    )
