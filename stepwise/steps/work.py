"""Making results within one pass: the same few moves for every kind that measures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from stepwise.bench import carried_over
from stepwise.judge import Judgement, LimitFields, Result
from stepwise.quantities import Uncertain, propagate
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Reading


@dataclass(slots=True)
class PassWork:
    """The results of one pass, as they come about."""

    at: Pass
    known: Known
    limits: object
    """Table of limits by result name, or None."""
    results: list[Result] = field(default_factory=list)

    def limit_fields(self, name: str) -> LimitFields | None:
        """The limit that the step states for a result."""
        return getattr(self.limits, name, None) if self.limits is not None else None

    def read(
        self, reading: Reading, name: str, label: str, limit: LimitFields | None = None
    ) -> Uncertain:
        """Enter a reading itself as a result; gives its value back."""
        value = reading.measure
        if value is None:
            raise ValueError(f"{reading.key} holds no measured value")
        at = self.at
        self.results.append(
            Result(
                at.step,
                at.channel,
                at.load,
                reading.point,
                name,
                value,
                reading.unit,
                label,
                self.known.judge(value, limit, reading.unit, at),
                key=reading.key,
                typed=reading.typed,
                basis=(reading.key,),
                deflection=reading.deflection,
                better_range=reading.better_range,
            )
        )
        return value

    def put(
        self, name: str, label: str, value: Uncertain, unit: str, basis: tuple[str, ...],
        point: str | None = None,
    ) -> None:  # fmt: skip
        """Enter a computed result, judged by the step's limit of that name."""
        at = self.at
        judgement = self.known.judge(value, self.limit_fields(name), unit, at)
        self.results.append(
            Result(
                at.step,
                at.channel,
                at.load,
                point,
                name,
                value,
                unit,
                label,
                judgement,
                basis=basis,
            )
        )

    def compute(
        self, name: str, label: str, unit: str, function: Callable[..., float],
        *inputs: tuple[Uncertain, str], point: str | None = None, also: tuple[str, ...] = (),
    ) -> Uncertain | None:  # fmt: skip
        """Put readings through a function of science and enter what comes out.

        `also` names further prompts that it belongs to, whose values have no part in it.

        A reading outside the function's domain (a loaded level above the open one, say) has
        no such result; the reading itself stays and is judged on its own.
        """
        try:
            value = propagate(function, *(each for each, _ in inputs))
        except (ValueError, ZeroDivisionError, OverflowError):
            return None
        basis = tuple(dict.fromkeys(key for key in (*(key for _, key in inputs), *also) if key))
        self.put(name, label, value, unit, basis, point)
        return value

    def on_its_mains(self, volts: Uncertain, then: str) -> Uncertain:
        """Volts of the supply that were read in the pass `then`, on the mains of this one."""
        return carried_over(volts, self.known.scene.bench.supply, then, self.at.key)

    def remark(self, sentence: str) -> None:
        """Say of the result entered last how far to trust it."""
        self.results[-1] = replace(self.results[-1], remark=sentence)

    def rejudge(self, judgement: Judgement) -> None:
        """Give the result entered last another verdict: that of what it is part of."""
        self.results[-1] = replace(self.results[-1], judgement=judgement)
