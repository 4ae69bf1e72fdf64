"""What stands in for a person and a bench: the interface that a rehearsal fulfils."""

from __future__ import annotations

from typing import Protocol

from stepwise.run.outcome import Card
from stepwise.steps import Prompt, Setting


class AnsweringBench(Protocol):
    """A bench that can be read, and that can answer for the person."""

    title: str

    def answer(self, prompt: Prompt, card: Card) -> str | None:
        """What a person at this bench would type; None where it cannot tell."""
        ...

    def panel(self, prompt: Prompt, card: Card) -> tuple[Setting, ...]:
        """What the instruments show now: which one, and what it shows."""
        ...
