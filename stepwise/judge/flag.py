"""A flag: an anomaly, said while the rig is still wired up."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a flag matters, worst first."""

    STOP = "stop"
    """Going on would hurt somebody or the board."""
    WRONG = "wrong"
    """The board, its claim or the reading is wrong."""
    LOOK = "look"
    """Worth a look before the rig is taken apart."""
    NOTE = "note"
    """Good to know."""


CLOSABLE = ("tone", "capacitor", "loudspeaker")
"""What a flag may close: every prompt with the tone on, square looks with a capacitor across
the load, and steps that a loudspeaker is connected in."""

SEVERITY_ORDER = (Severity.STOP, Severity.WRONG, Severity.LOOK, Severity.NOTE)


@dataclass(frozen=True, slots=True)
class Evidence:
    """One number that speaks for a flag."""

    name: str
    value: str
    """Printed with its unit and, where known, its uncertainty."""


@dataclass(frozen=True, slots=True)
class Flag:
    """What was noticed, why, and what to do next."""

    name: str
    """Short and stable, with hyphens: `early-roll-off`."""
    severity: Severity
    step: str
    channel: str | None
    load: str | None
    says: str
    """One sentence."""
    evidence: tuple[Evidence, ...]
    likely: tuple[str, ...]
    """Causes, most likely first."""
    next_try: str
    """The next thing to do at the bench."""
    keys: tuple[str, ...] = ()
    """Prompts whose readings it rests on; the first is the one to take again."""
    closes: tuple[str, ...] = ()
    """What would do harm while a `stop` stands, from `CLOSABLE`."""
    reopens: str = ""
    """One sentence: what opens it again. Empty where nothing is closed."""

    @property
    def identity(self) -> tuple[str, str, str | None, str | None]:
        """What makes two flags the same one."""
        return (self.name, self.step, self.channel, self.load)
