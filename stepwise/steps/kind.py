"""The interface of a step kind: how a step is checked, asked, and worked out."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Generic, TypedDict, TypeVar

from stepwise.judge import LimitFields, Result
from stepwise.steps.check import Checker
from stepwise.steps.fields import Hold, HoldExcept, StepFields
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Prompt, Reading, Setting
from stepwise.steps.scene import Scene

F = TypeVar("F", bound=StepFields)

Readings = Mapping[str, Reading]
"""Point -> the reading in force, of one pass."""


@dataclass(frozen=True, slots=True)
class NeededMeter:
    """A meter that a step reads."""

    id: str
    unit: str
    """SI unit of what is read on it."""
    optional: bool = False
    """The step can be done without what is read on it."""


class StepKind(ABC, Generic[F]):
    """One kind of step. Stateless: everything comes in as arguments."""

    fields: ClassVar[type[StepFields]]
    """What its TOML table may hold."""
    result_units: ClassVar[Mapping[str, str]] = {}
    """Results that the kind computes by itself, with their SI units."""
    tells_time: ClassVar[bool] = False
    """Whether its results go by the time at which a reading was taken."""

    @abstractmethod
    def check(self, step: F, checker: Checker) -> None:
        """Report what is wrong beyond the types of the fields."""

    def names(self, step: F) -> Mapping[str, str]:
        """Names of readings and results that later limits and formulas may use, with units."""
        return self.result_units

    def meters(self, step: F) -> tuple[NeededMeter, ...]:
        """The meters that the step reads."""
        return ()

    @abstractmethod
    def prompts(self, step: F, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """The prompts of one pass, in the order in which they are asked."""

    @abstractmethod
    def results(self, step: F, at: Pass, readings: Readings, known: Known) -> list[Result]:
        """Everything that the readings of one pass show."""

    def limit(self, step: F, at: Pass, point: str) -> tuple[LimitFields | None, str]:
        """The limit that a prompt's answer is held against, with its SI unit."""
        return None, ""

    def in_pass(self, step: F, at: Pass, scene: Scene) -> F:
        """The step as it stands in a pass, where its limits go by what is claimed for the load."""
        return step

    def guidance(self, step: F, at: Pass, known: Known) -> tuple[Setting, ...]:
        """Settings that follow from earlier results, such as a level below clipping."""
        return ()

    @abstractmethod
    def summary(self, step: F) -> str:
        """One plain line: what this step does."""


class HoldOf(TypedDict):
    """What a prompt says of its hold."""

    hold: bool
    hold_for: tuple[str, ...]
    hold_except: tuple[str, ...]


def holds(*wanted: Hold) -> HoldOf:
    """What a prompt says of its hold, from what its step and its reading say.

    Together they hold whatever one of them alone would: one for all that comes later outweighs
    the others, and one that leaves steps open leaves those that no other one holds.
    """
    named = dict.fromkeys(step for each in wanted if isinstance(each, tuple) for step in each)
    excepts = [each.steps for each in wanted if isinstance(each, HoldExcept)]
    if not excepts and True not in wanted:
        return HoldOf(hold=bool(named), hold_for=tuple(named), hold_except=())
    left_open = () if True in wanted else excepts[0]
    return HoldOf(
        hold=True,
        hold_for=(),
        hold_except=tuple(
            step
            for step in dict.fromkeys(left_open)
            if step not in named and all(step in each for each in excepts)
        ),
    )


def pass_settings(at: Pass, scene: Scene) -> tuple[Setting, ...]:
    """The settings that every prompt of a pass shares."""
    settings = []
    if at.channel is not None:
        settings.append(Setting("channel", at.channel))
    load = scene.bench.load(at.load)
    if load is not None:
        settings.append(Setting("load", load.title))
    return tuple(settings)
