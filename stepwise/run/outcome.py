"""What the run hands to a front end: finished values, nothing left to compute."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from stepwise.judge import Flag, Judgement, Result, Verdict
from stepwise.judge.slips import Slip
from stepwise.steps import Prompt, Setting


class Status(StrEnum):
    """What became of an answer."""

    KEPT = "kept"
    CONFIRMED = "confirmed"
    NOT_SO = "not so"
    """A confirmation was answered with no."""
    SKIPPED = "skipped"
    REFUSED = "refused"
    """Nothing was recorded; `Outcome.message` says why."""
    DOUBTED = "doubted"
    """Probably a slip: not kept as a reading; `Outcome.doubt` says why and what was meant."""


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of the test sheet."""

    key: str
    step: str
    what: str
    """The place and the question in short: "left · 8 Ω · clean level"."""
    typed: str
    as_read: str
    """The value as understood, with its uncertainty."""
    outcome: str
    """The main result with its label, such as "Clean power 50.0 ± 1.2 W"; empty where the
    reading is all."""
    verdict: Verdict
    judgement: Judgement | None
    """The judgement that the verdict comes from, for the bar; None where nothing was judged."""
    position: float | None
    """Where in its limit the value lies (Limit.position); None without a limit."""
    remark: str = ""
    """Reason for a skip, a remark."""
    corrected: bool = False
    """Earlier answers to this prompt are in the log."""
    closed: bool = False
    """A hold point or a stop flag closes the prompt since the reading was taken."""
    answer: str = "reading"
    """`reading`, `confirm`, `refuse` or `skip`."""
    doubted: str = ""
    """Name of the slip that it was kept in spite of; empty where nothing was doubted."""
    judged_what: str = ""
    """The place and the label of the result whose verdict the line carries: "left · 8 Ω · Clean
    power"; empty where the verdict is the reading's own."""
    judged_figure: str = ""
    """That result in figures, without its label."""
    doubt: str = ""
    """The sentence that was said of it then."""

    @property
    def verdict_words(self) -> str:
        """What stands in the column of verdicts, in every front end alike."""
        if self.answer == "confirm":
            return self.as_read
        judgement = self.judgement
        is_judged = judgement is not None and judgement.verdict is self.verdict
        return judgement.words if judgement is not None and is_judged else self.verdict.value


@dataclass(frozen=True, slots=True)
class Blocked:
    """Nothing more can be asked until a hold point is satisfied."""

    key: str
    """Prompt of the hold point to take again."""
    reason: str


@dataclass(frozen=True, slots=True)
class Card:
    """Everything the unfolded card of the prompt in hand shows."""

    prompt: Prompt
    step_title: str
    why: str
    how: str
    cautions: tuple[str, ...]
    settings: tuple[Setting, ...]
    """Those of the prompt and those that follow from earlier results."""
    limit_text: str
    """"power at least 60 W" where the limit is on a result, "at most 45 V" where it is on the
    reading itself; or empty."""
    number: int
    """Place of the prompt in the run, from 1."""
    of: int
    step_number: int
    of_steps: int
    on_time: float | None
    """Longest that the tone may stay on [s]."""
    rest: float | None


@dataclass(frozen=True, slots=True)
class ToneClock:
    """The tone as the run knows it."""

    on: bool
    since: float
    """Seconds since it went on, or off."""
    allowed: float | None
    """Longest on time [s] while on; the rest wanted [s] while off."""

    @property
    def over(self) -> float:
        """Seconds beyond what is allowed; negative while within."""
        return self.since - self.allowed if self.allowed is not None else float("-inf")


@dataclass(frozen=True, slots=True)
class Curve:
    """A sweep so far, for the live picture."""

    frequencies: tuple[float, ...]
    """[Hz], ascending."""
    levels_db: tuple[float, ...]
    planned: tuple[float, ...]
    """All frequencies of the sweep [Hz]."""
    band: tuple[float, float] | None
    """[Hz]"""
    low_db: float | None
    high_db: float | None
    """Edges of the limit within the band [dB]."""
    marks: Mapping[str, float]
    """Result name -> frequency [Hz]: minus_3db_low, corner_low, …"""
    model: tuple[tuple[float, float], ...] = ()
    """Fitted response, (Hz, dB)."""
    outliers: tuple[float, ...] = ()
    """Frequencies of readings that do not belong to the others [Hz]."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an answer led to."""

    status: Status
    key: str
    message: str
    """One sentence: the echo, or why it was refused."""
    line: SheetLine | None = None
    results: tuple[Result, ...] = ()
    """Results that are new or changed through this answer."""
    flags: tuple[Flag, ...] = ()
    """Flags that were not there before."""
    cleared: tuple[Flag, ...] = ()
    """Flags that are gone."""
    next_key: str | None = None
    """Key of the next prompt; None when nothing is open."""
    doubt: Slip | None = None
    """Where the answer is in doubt: why, and what was probably meant."""
    is_led: bool = False
    """A hold point has led away from what was in hand to what makes the board dead: nothing that
    was typed ahead may count as the answer there."""
