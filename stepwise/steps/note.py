"""`note`: free remarks and marks out of ten."""

from __future__ import annotations

from typing import Annotated

import msgspec

from stepwise.judge import Result
from stepwise.quantities import Answer, Expected
from stepwise.steps.check import Checker
from stepwise.steps.fields import NameText, StepFields
from stepwise.steps.kind import Readings, StepKind, pass_settings
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Prompt
from stepwise.steps.scene import Scene


class NoteAsk(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One remark or mark."""

    name: NameText
    ask: Annotated[str, msgspec.Meta(min_length=1)]
    mark: bool = False
    """True: a mark from 0 to 10. False: free text."""
    optional: bool = True


class NoteFields(StepFields, frozen=True, kw_only=True, tag="note"):
    """What the person thinks of it."""

    notes: Annotated[tuple[NoteAsk, ...], msgspec.Meta(min_length=1)]


class Note(StepKind[NoteFields]):
    """Asks for remarks and marks."""

    fields = NoteFields

    def check(self, step: NoteFields, checker: Checker) -> None:
        """Names must differ."""
        seen: set[str] = set()
        for place, note in enumerate(step.notes):
            if note.name in seen:
                checker.add(("notes", place, "name"), f"“{note.name}” stands twice", "rename one")
            seen.add(note.name)

    def prompts(self, step: NoteFields, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """One prompt for each remark or mark."""
        return tuple(
            Prompt(
                of=at,
                kind="note",
                point=note.name,
                ask=note.ask,
                expected=Expected(Answer.MARK if note.mark else Answer.TEXT),
                settings=pass_settings(at, scene),
                optional=note.optional or step.optional,
            )
            for note in step.notes
        )

    def names(self, step: NoteFields) -> dict[str, str]:
        """Marks may be named; they are pure numbers."""
        return {note.name: "" for note in step.notes if note.mark}

    def results(self, step: NoteFields, at: Pass, readings: Readings, known: Known) -> list[Result]:
        """Marks are results without a limit; text stays text."""
        return [
            Result(
                at.step, at.channel, at.load, note.name, note.name, reading.measure, "",
                note.ask, key=reading.key, typed=reading.typed, basis=(reading.key,),
            )
            for note in step.notes
            if (reading := readings.get(note.name)) is not None and reading.measure is not None
        ]  # fmt: skip

    def summary(self, step: NoteFields) -> str:
        """One plain line."""
        marks = sum(note.mark for note in step.notes)
        return f"{marks} marks, {len(step.notes) - marks} remarks"
