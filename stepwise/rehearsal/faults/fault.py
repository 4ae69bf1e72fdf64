"""What a fault is: a change of the rig, with what it should lead to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from stepwise.errors import StepwiseError, one_of_many
from stepwise.rehearsal.rig import Rig

MILD, CLEAR, SEVERE = 0.5, 0.75, 1.0
SEVERITIES = MappingProxyType({"mild": MILD, "clear": CLEAR, "severe": SEVERE})
"""Word -> severity. Nearer to 0 most faults are within a sound board's tolerances."""


class Whose(StrEnum):
    """Where a fault sits."""

    BOARD = "board"
    SUPPLY = "supply"
    BENCH = "bench"
    PERSON = "person"


class UnknownFault(StepwiseError, ValueError):
    """A fault that cannot be rehearsed."""

    def __init__(self, name: str, known: tuple[str, ...]) -> None:
        self.name = name
        self.known = known
        super().__init__(name, known)

    def __str__(self) -> str:
        remedy = one_of_many(self.name, self.known, "stepwise rehearse --fault list")
        return f"there is no fault “{self.name}”; {remedy}"


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault."""

    name: str
    whose: Whose
    summary: str
    """What is wrong, and where it will show. One line."""
    flags: tuple[str, ...]
    """Names of flags or slips, any of which is the right one."""
    apply: Callable[[Rig, float], Rig]
    """The rig and a severity from 0 (nothing) to 1 (plain to see) -> the faulty rig."""
    procedure: str = "first-look"
    """The shipped procedure in which it shows."""
    stated: float = SEVERE
    """The severity at which the flag is promised."""


def severity_word(severity: float) -> str:
    """What a severity is called: the nearest of the words."""
    return min(SEVERITIES, key=lambda word: abs(SEVERITIES[word] - severity))


def towards(sound: float, faulty: float, severity: float) -> float:
    """From one value to another by ratio, so that half way is half of the harm.

    Args:
        sound: At severity 0, > 0.
        faulty: At severity 1, > 0.
        severity: 0 to 1.
    """
    return float(sound ** (1.0 - severity) * faulty**severity)
