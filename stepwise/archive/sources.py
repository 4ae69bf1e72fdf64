"""Which sources of error two runs share, so that a difference does not count them.

Whoever measures twice with one meter on one range is wrong by the same amount twice. What a
single look at a pointer adds belongs to that look, and another bench has other errors.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stepwise.quantities import Source, Uncertain, from_terms

if TYPE_CHECKING:
    from stepwise.bench import Bench, Unit
    from stepwise.run import Run

_LOAD = "load "
_OSCILLATOR = "oscillator "


@dataclass(frozen=True, slots=True)
class Origin:
    """Where the errors of a run come from."""

    letter: str
    """Of the side; marks what is its own."""
    bench: Bench
    bench_seed: object
    """Which of the simulated benches it was; None for one that exists."""
    unit: Unit

    def same_bench(self, other: Origin) -> bool:
        """Whether both were measured at one bench."""
        mine = (self.bench.name, self.bench_seed)
        return mine == (other.bench.name, other.bench_seed)

    def same_unit(self, other: Origin) -> bool:
        """Whether both are runs of one unit."""
        return (self.unit.name, self.unit.serial) == (other.unit.name, other.unit.serial)


def origin_of(run: Run, letter: str) -> Origin:
    """Where the errors of a run come from."""
    made = run.state.begin.get("rehearsal")
    seed = None
    if isinstance(made, Mapping):
        seed = made.get("bench_seed", made.get("seed"))
    return Origin(letter, run.plan.bench, seed, run.plan.unit)


def difference(first: Uncertain, second: Uncertain, one: Origin, other: Origin) -> Uncertain:
    """`second` less `first`, what both sides share counted once with both signs.

    Args:
        first: Value of the side that is held against.
        second: Value of the other side, same unit.
        one: Where `first` comes from.
        other: Where `second` comes from.

    Source:
        JCGM 100:2008, 5.2.2, correlated inputs (from memory); which errors two runs share is
        common practice, no source.
    """
    terms = [
        *((_named(source, one, other, one.letter), -term) for source, term in first.terms.items()),
        *(
            (_named(source, one, other, other.letter), term)
            for source, term in second.terms.items()
        ),
    ]
    return from_terms(second.value - first.value, terms)


def _named(source: str, one: Origin, other: Origin, letter: str) -> str:
    if _is_shared(source, one, other):
        return source
    name = f"{letter}: {source}"
    return source.renamed(name) if isinstance(source, Source) else name


def _is_shared(source: str, one: Origin, other: Origin) -> bool:
    if "/" in source:
        return False  # it names the prompt of one reading, which was another one in each run
    if source.startswith(_LOAD):
        label = source.removeprefix(_LOAD)
        return one.same_bench(other) and one.bench.load(label) == other.bench.load(label)
    if source.startswith(_OSCILLATOR):
        return one.same_bench(other) and one.bench.oscillator == other.bench.oscillator
    meter_id = source.partition(" ")[0]
    meter = one.bench.meter(meter_id)
    if meter is not None or other.bench.meter(meter_id) is not None:
        return one.same_bench(other) and meter == other.bench.meter(meter_id)
    # What is left is about the unit itself, such as the shape of its clipped wave.
    return one.same_unit(other)
