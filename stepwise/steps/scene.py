"""What a procedure is done with: the unit and the bench, and what follows from the pair."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from stepwise.bench import Bench, Claim, Load, Unit
from stepwise.steps.bench_response import BenchResponse
from stepwise.steps.fields import StepFields
from stepwise.steps.prompt import Pass

CLAIMED = "claimed_power"
"""How a limit names what is claimed for the load in use."""


@dataclass(frozen=True, slots=True)
class Scene:
    """One unit on one bench."""

    unit: Unit
    bench: Bench
    bench_response: BenchResponse | None = None
    """What the bench itself adds to a sweep, where it was read."""

    def loads(self) -> tuple[Load, ...]:
        """Loads that the unit bears, kindest first."""
        bearable = [load for load in self.bench.loads if self.unit.bears(load.nominal)]
        return tuple(sorted(bearable, key=lambda load: -load.nominal))

    def has_load(self, label: str) -> bool:
        """Whether the bench has that load and the unit bears it."""
        return any(load.label == label for load in self.loads())

    def passes(self, step: StepFields) -> tuple[Pass, ...]:
        """The passes of a step: channels outermost, then loads."""
        channels: tuple[str | None, ...] = (None,)
        loads: tuple[str | None, ...] = (None,)
        if "channel" in step.repeat:
            channels = self.unit.channels
        if "load" in step.repeat:
            loads = tuple(load.label for load in self.loads())
        return tuple(Pass(step.id, channel, load) for channel in channels for load in loads)

    def facts(self, load: str | None = None) -> dict[str, float]:
        """Names that limits may use, with values in SI units."""
        return dict(self._facts(load))

    def _facts(self, load: str | None) -> Iterator[tuple[str, float]]:
        yield from self.unit.ratings.items()
        yield "rail_share", self.unit.rail_share
        for each in self.bench.loads:
            yield load_name(each.nominal), each.measured
        claim = self.claim(load)
        if claim is not None:
            yield CLAIMED, claim.power

    def claim(self, load: str | None) -> Claim | None:
        """What its seller claims for a load of the bench."""
        chosen = self.bench.load(load)
        return None if chosen is None else self.unit.claim_for(chosen.nominal)


def load_name(nominal_ohms: float) -> str:
    """Name of a load in formulas: 8.0 -> "load_8", 8.2 -> "load_8_2"."""
    return "load_" + f"{nominal_ohms:g}".replace(".", "_")
