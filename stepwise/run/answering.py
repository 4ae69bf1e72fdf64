"""What stands in for a person and a bench: the interface that a rehearsal fulfils."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from stepwise.run.outcome import Card
from stepwise.steps import Prompt, Setting

if TYPE_CHECKING:
    from stepwise.run.run import Run


class AnsweringBench(Protocol):
    """A bench that can be read, and that can answer for the person."""

    title: str

    def answer(self, prompt: Prompt, card: Card) -> str | None:
        """What a person at this bench would type; None where it cannot tell."""
        ...

    def panel(self, prompt: Prompt, card: Card) -> tuple[Setting, ...]:
        """What the instruments show now: which one, and what it shows."""
        ...

    def reveal(self, run: Run) -> tuple[str, ...]:
        """What was wrong with it all along, and whether this run noticed: one text for each.

        To be shown at the end, never before; empty where nothing was wrong.
        """
        ...
