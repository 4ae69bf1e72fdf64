"""`confirm`: a list of things to see to, each confirmed by itself."""

from __future__ import annotations

from typing import Annotated

import msgspec

from stepwise.judge import Result
from stepwise.quantities import Answer, Expected
from stepwise.steps.check import Checker
from stepwise.steps.fields import StepFields
from stepwise.steps.kind import Readings, StepKind, holds, pass_settings
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Prompt
from stepwise.steps.scene import Scene


class ConfirmFields(StepFields, frozen=True, kw_only=True, tag="confirm"):
    """Things to see to."""

    items: Annotated[tuple[str, ...], msgspec.Meta(min_length=1)]


class Confirm(StepKind[ConfirmFields]):
    """Asks for every item; "no" keeps a hold point shut."""

    fields = ConfirmFields

    def check(self, step: ConfirmFields, checker: Checker) -> None:
        """An empty item would ask nothing."""
        for place, item in enumerate(step.items):
            if not item.strip():
                checker.add(("items", place), "is empty", "say what is to be confirmed")

    def prompts(self, step: ConfirmFields, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """One prompt for each item; points are counted from 1."""
        return tuple(
            Prompt(
                of=at,
                kind="confirm",
                point=str(number),
                ask=item,
                expected=Expected(Answer.CONFIRM),
                settings=pass_settings(at, scene),
                optional=step.optional,
                **holds(step.hold),
            )
            for number, item in enumerate(step.items, start=1)
        )

    def results(
        self, step: ConfirmFields, at: Pass, readings: Readings, known: Known
    ) -> list[Result]:
        """Nothing is measured here; what was confirmed stands in the sheet."""
        return []

    def summary(self, step: ConfirmFields) -> str:
        """One plain line."""
        count = len(step.items)
        return f"{count} thing{'s' if count != 1 else ''} to confirm"
