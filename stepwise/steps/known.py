"""What is known when a pass is worked out: the scene, and the results before it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from stepwise.bench import from_capture, measure, oscilloscope
from stepwise.judge import (
    Judgement,
    Limit,
    LimitFields,
    Result,
    judge,
    named_in,
    resolve_limit,
)
from stepwise.quantities import Uncertain, Understood
from stepwise.steps.prompt import Pass, Prompt
from stepwise.steps.scene import CLAIMED, Scene


@dataclass(slots=True)
class Known:
    """Results so far, indexed by name, newest last."""

    scene: Scene
    by_name: dict[str, list[Result]]
    of_bench: frozenset[str] = frozenset()
    """Steps that sweep the bench itself, without an amplifier."""

    def add(self, results: list[Result]) -> None:
        """Take in the results of a pass."""
        for result in results:
            self.by_name.setdefault(result.name, []).append(result)

    def find(self, name: str, at: Pass) -> Result | None:
        """The result of that name nearest to a pass: same channel and load before general.

        A result of another channel or another load never stands in; what a sweep of the bench
        itself showed does so only where nothing of that name was found of the board.
        """
        best, best_rank = None, (False, -1)
        for result in self.by_name.get(name, ()):
            if result.channel not in (None, at.channel) or result.load not in (None, at.load):
                continue
            nearness = 2 * (result.channel is not None) + (result.load is not None)
            rank = (result.step not in self.of_bench, nearness)
            if rank >= best_rank:
                best, best_rank = result, rank
        return best

    def of_board(self, name: str, at: Pass) -> Result | None:
        """The same, and never what a sweep of the bench itself showed."""
        found = self.find(name, at)
        return None if found is None or found.step in self.of_bench else found

    def idle(self, name: str, at: Pass) -> Result | None:
        """The reading of that name taken without load, before this step."""
        latest = None
        for result in self.by_name.get(name, ()):
            if (
                result.step != at.step
                and result.load is None
                and result.channel in (None, at.channel)
            ):
                latest = result
        return latest

    def value(self, name: str, at: Pass) -> float | None:
        """Value of a name that a limit may use in this pass; None where it has none."""
        result = self.find(name, at)
        return result.value if result is not None else self.scene.facts(at.load).get(name)

    def limit(self, fields: LimitFields | None, unit: str, at: Pass) -> Limit | None:
        """Resolve a limit in this pass; one that names a claim says at what distortion."""
        limit = resolve_limit(fields, unit, lambda name: self.value(name, at))
        claim = self.scene.claim(at.load)
        if fields is None or limit is None or claim is None or CLAIMED not in named_in(fields):
            return limit
        return replace(limit, text=f"{limit.text}, as claimed{claim.at}") if claim.at else limit

    def judge(self, value: Uncertain, fields: LimitFields | None, unit: str, at: Pass) -> Judgement:
        """Hold a value against a limit as it stands in this pass."""
        return judge(value, self.limit(fields, unit, at))


def measured(
    prompt: Prompt, understood: Understood, scene: Scene, captured: float | None = None
) -> Uncertain:
    """Give what was read the uncertainty of the instrument that the prompt names.

    Args:
        prompt: What was asked.
        understood: What was answered.
        scene: With the bench.
        captured: Standard uncertainty, unit of the value, where it was taken from a capture.
    """
    if captured is not None:
        return from_capture(understood, captured, scene.bench, prompt.key)
    meter = scene.bench.meter(prompt.meter) if prompt.meter else None
    if prompt.kind == "square":
        meter = oscilloscope(scene.bench)
    return measure(understood, meter, scene.bench, prompt.key, prompt.tolerance)
