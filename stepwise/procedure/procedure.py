"""A procedure: what is done to a unit, step by step."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stepwise.judge import Criterion
from stepwise.steps import StepFields


@dataclass(frozen=True, slots=True)
class Procedure:
    """A checked procedure; nothing in it can fail for want of sense."""

    name: str
    """Stem of its file: "first-look"."""
    title: str
    summary: str
    revision: int
    steps: tuple[StepFields, ...]
    """In the order in which they are done; each is the fields of its kind."""
    text: str
    """The whole TOML text, for the record of the run."""
    minutes: int | None = None
    """How long it takes about, where its author says so."""
    path: Path = Path()
    """Where it was read, for sentences about it."""
    marks: tuple[Criterion, ...] = ()
    """The marking scheme; empty where the procedure gives no marks."""

    def step(self, step_id: str) -> StepFields | None:
        """The step of that id, or None."""
        return next((step for step in self.steps if step.id == step_id), None)
