"""What a run has shown so far: results, and the facts that flags are found in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from operator import is_
from types import MappingProxyType

from stepwise.judge.verdict import NOTED, Judgement
from stepwise.quantities import Uncertain


@dataclass(frozen=True, slots=True)
class Result:
    """One reading as judged, or one thing computed from readings."""

    step: str
    channel: str | None
    load: str | None
    point: str | None
    """The reading's name, a sweep's frequency, or tone/capacitor/what of a square wave."""
    name: str
    """The result's name, from the list in the README."""
    measure: Uncertain
    unit: str
    """SI unit of `measure` in plain spelling, or dB, %, C."""
    label: str
    """What people call it: "Clean power"."""
    judgement: Judgement = NOTED
    key: str | None = None
    """Key of the prompt, where this is a reading itself."""
    typed: str | None = None
    basis: tuple[str, ...] = ()
    """Keys of the prompts whose readings it was computed from."""
    remark: str = ""
    """One sentence on how far to trust it; empty where its uncertainty says enough."""
    deflection: float | None = None
    """Share of full scale that the pointer stood at [1]; above 1 where no range of the meter holds
    it; None where nothing is known of it."""
    better_range: float | None = None
    """Full scale of the lowest range that would have held it, in the unit of the meter, where
    that is lower than the one in use."""

    @property
    def trust(self) -> str:
        """What is to be said of how far to trust it, or its verdict; mostly nothing."""
        return self.remark or self.judgement.remark

    @property
    def value(self) -> float:
        """The estimate, in `unit`."""
        return self.measure.value


@dataclass(frozen=True, slots=True)
class ToneSpan:
    """A time during which the tone was on."""

    step: str
    channel: str | None
    load: str | None
    seconds: float
    allowed_seconds: float | None
    running: bool = False
    rested: float | None = None
    """Seconds that the tone was off before; None where it was never on before."""
    wanted_rest: float | None = None
    """Seconds that the procedure asks for between two passes."""


@dataclass(frozen=True, slots=True)
class Confirmed:
    """One thing that was confirmed: a reading may contradict it."""

    key: str
    step: str
    ask: str
    """As the procedure words it."""
    before: frozenset[str] = frozenset()
    """Steps that come after it."""


_Where = tuple[tuple[str, str | None], ...]
_Place = tuple[str, _Where]
"""A result's name, and where it is looked for."""


@dataclass(frozen=True, slots=True)
class Findings:
    """Everything that was found, in the order of the procedure."""

    results: tuple[Result, ...] = ()
    facts: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Ratings and claims by name, in SI units: input_resistance, claimed_power_8, …"""
    tones: tuple[ToneSpan, ...] = ()
    awaited: frozenset[str] = frozenset()
    """Keys of the prompts that the pass in hand still asks for."""
    confirmed: tuple[Confirmed, ...] = ()
    """What was confirmed, in the order of the procedure."""
    _by_name: dict[_Place, list[Result]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        by_name: dict[_Place, list[Result]] = {}
        for result in self.results:
            by_name.setdefault((result.name, ()), []).append(result)
        object.__setattr__(self, "_by_name", by_name)  # frozen: an index, no state

    def named(self, name: str, **where: str | None) -> Iterator[Result]:
        """Results of that name, restricted to `step=`, `channel=`, `load=`, `point=`."""
        return iter(self._at(name, tuple(where.items())))

    def _at(self, name: str, where: _Where) -> list[Result]:
        """Looked for once: many flags look in the same places, and again at every answer."""
        found = self._by_name.get((name, where))
        if found is None:
            if not where:
                return []
            place, wanted = where[-1]
            wider = self._at(name, where[:-1])
            found = [result for result in wider if getattr(result, place) == wanted]
            self._by_name[name, where] = found
        return found

    def first(self, name: str, **where: str | None) -> Result | None:
        """The first result of that name there, or None."""
        return next(self.named(name, **where), None)

    def firsts(self, *names: str, **where: str | None) -> list[Result]:
        """The first result of each name there, in this order, as far as they are there."""
        found = (self.first(name, **where) for name in names)
        return [result for result in found if result is not None]

    def last(self, name: str, **where: str | None) -> Result | None:
        """The latest result of that name there, or None."""
        latest = None
        for result in self.named(name, **where):
            latest = result
        return latest

    def last_of_board(self, name: str, **where: str | None) -> Result | None:
        """The latest that a sweep of oscillator and meter alone did not give, or None."""
        found = [each for each in self.named(name, **where) if not self.is_of_bench(each.step)]
        return found[-1] if found else None

    def is_of_bench(self, step: str) -> bool:
        """Whether a sweep was made without an amplifier: what it shows is the bench's."""
        return f"of_bench/{step}" in self.facts

    def changed_since(self, before: Findings) -> set[str]:
        """Names whose results are not those of before, and fields that are not.

        Results are kept as objects while they stand: only the same objects count as the same.
        """
        changed = {
            name for name in ("facts", "tones", "awaited", "confirmed")
            if getattr(self, name) != getattr(before, name)
        }  # fmt: skip
        if not _are_same(self.results, before.results):
            mine, theirs = self._whole(), before._whole()
            changed.add("results")
            changed.update(
                name
                for name in mine.keys() | theirs.keys()
                if not _are_same(mine.get(name, ()), theirs.get(name, ()))
            )
        return changed

    def _whole(self) -> dict[str, list[Result]]:
        return {name: found for (name, where), found in self._by_name.items() if not where}


def _are_same(mine: Sequence[Result], theirs: Sequence[Result]) -> bool:
    return len(mine) == len(theirs) and all(map(is_, mine, theirs))


class Noted(Findings):
    """The same findings, with a note of what was looked at in them."""

    __slots__ = ("_all", "looked_at")
    _all: Findings
    looked_at: set[str]
    """Names of results, and of fields that were looked at as a whole."""

    def __init__(self, findings: Findings) -> None:
        object.__setattr__(self, "_all", findings)  # frozen, as what it stands for
        object.__setattr__(self, "looked_at", set())

    def _at(self, name: str, where: _Where) -> list[Result]:
        self.looked_at.add(name)
        return self._all._at(name, where)

    @property
    def results(self) -> tuple[Result, ...]:
        """As in all findings; so are the others."""
        self.looked_at.add("results")
        return self._all.results

    @property
    def facts(self) -> Mapping[str, float]:
        """Looked at as a whole."""
        self.looked_at.add("facts")
        return self._all.facts

    @property
    def tones(self) -> tuple[ToneSpan, ...]:
        """Looked at as a whole."""
        self.looked_at.add("tones")
        return self._all.tones

    @property
    def awaited(self) -> frozenset[str]:
        """Looked at as a whole."""
        self.looked_at.add("awaited")
        return self._all.awaited

    @property
    def confirmed(self) -> tuple[Confirmed, ...]:
        """Looked at as a whole."""
        self.looked_at.add("confirmed")
        return self._all.confirmed
