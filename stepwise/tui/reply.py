"""What a line typed on the sheet is for, and what it led to."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stepwise.judge import Severity
from stepwise.judge.slips import Slip
from stepwise.run import Outcome, Status

REASONS = (
    "not fitted on this board",
    "instrument or load not at hand",
    "not safe to go on",
    "the reading will not settle",
    "no time today",
    "done elsewhere",
)
"""Reasons for leaving something out, chosen by one digit."""

_LOUD = (Severity.STOP, Severity.WRONG)


class Mode(StrEnum):
    """What the entry is for."""

    ANSWER = "answer"
    DOUBT = "doubt"
    """What was typed is probably a slip: nothing typed ahead may count as settling that."""
    SHUT = "shut"
    """A hold point is not satisfied: nothing typed ahead may count as taking it again."""
    REASON = "reason"
    NOTE = "note"
    DONE = "done"
    """Everything is answered."""


@dataclass(frozen=True, slots=True)
class Reply:
    """What one key press led to."""

    clears: bool = False
    """The entry's text was used up."""
    hint: str = ""
    """One sentence for the line below the entry."""
    is_problem: bool = False
    outcome: Outcome | None = None
    draft: str | None = None
    """Text to put back into the entry."""
    opens_review: bool = False
    """Enter was pressed where everything was answered."""

    @property
    def is_loud(self) -> bool:
        """Whether something came up that a person must hear of: a flag, or a doubt."""
        if self.outcome is None:
            return False
        return self.outcome.status is Status.DOUBTED or any(
            flag.severity in _LOUD for flag in self.outcome.flags
        )


@dataclass(frozen=True, slots=True)
class Doubted:
    """An answer that is probably a slip, until the person says what it is to be."""

    typed: str
    slip: Slip
