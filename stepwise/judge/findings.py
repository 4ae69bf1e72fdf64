"""What a run has shown so far: results, and the facts that flags are found in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
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


@dataclass(frozen=True, slots=True)
class Findings:
    """Everything that was found, in the order of the procedure."""

    results: tuple[Result, ...] = ()
    facts: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Ratings and claims by name, in SI units: input_resistance, claimed_power_8, …"""
    tones: tuple[ToneSpan, ...] = ()

    def named(self, name: str, **where: str | None) -> Iterator[Result]:
        """Results of that name, restricted to `step=`, `channel=`, `load=`, `point=`."""
        for result in self.results:
            if result.name == name and all(
                getattr(result, place) == wanted for place, wanted in where.items()
            ):
                yield result

    def first(self, name: str, **where: str | None) -> Result | None:
        """The first result of that name there, or None."""
        return next(self.named(name, **where), None)

    def last(self, name: str, **where: str | None) -> Result | None:
        """The latest result of that name there, or None."""
        latest = None
        for result in self.named(name, **where):
            latest = result
        return latest
