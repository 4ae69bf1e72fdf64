"""What can be asked of the archive, and what it answers: frozen values, no database in them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from stepwise.errors import StepwiseError
from stepwise.judge import Conclusion, Verdict
from stepwise.quantities import NOT_A_FIGURE, Uncertain, format_uncertain

BEGAN = "began"
MARK = "mark"
PRICE = "price"
MOST_LINES = 1_000_000
"""Lines of one list; no folder holds so many logs, and every database can count so far."""
UNFINISHED = "unfinished"
"""Said in place of a verdict where a run was not ended."""
OWN_ORDERS = (BEGAN, "unit", "episode", "procedure", "verdict")
"""What logs can be sorted by beside their results."""
VERDICTS = (
    Verdict.IN_SPEC.value, Verdict.OUT_OF_SPEC.value, Verdict.TOO_CLOSE.value,
    Verdict.NOTED.value, UNFINISHED,
)  # fmt: skip
_JUDGED = frozenset(VERDICTS) - {UNFINISHED}
_LESS_IS_BETTER = frozenset(
    {
        "sag", "regulation", "source_impedance", "source_impedance_8", "source_impedance_loads",
        "crosstalk", "worst_dissipation", "soak_loss", "thermal_resistance", "idle_current",
        "idle_current_hot", "idle_current_ratio", "minus_1db_low", "minus_3db_low", "corner_low",
        "flatness", "overshoot", "preshoot", "tilt", "rise_time", "fall_time", "ringing_cycles",
        "temperature", "final_temperature", "residual_noise", "thd", "idle_power", "dissipation",
        "headroom_loss", "thump", "switch_on_delay", PRICE,
    }
)  # fmt: skip
LARGEST_SIZE = frozenset(
    {
        "offset", "offset_hot", "offset_drift", "offset_lamp", "rail_difference",
        "channel_balance", "gain_balance", "reference_drift",
    }
)  # fmt: skip
"""Results of which the size counts, whatever the sign."""


class QueryError(StepwiseError):
    """Something that cannot be asked of the archive."""


@dataclass(frozen=True, slots=True)
class Query:
    """Which logs, and in what order. Everything that is left empty lets all through."""

    text: str = ""
    """Every word of it stands somewhere in the log's names, remarks or flags."""
    unit: str = ""
    episode: str = ""
    procedure: str = ""
    """These three are parts of names, whatever the case."""
    verdict: str = ""
    """One of `VERDICTS`."""
    flag: str = ""
    """Name of a flag that stands."""
    since: date | None = None
    until: date | None = None
    """First and last day of the beginning, UTC."""
    rehearsals: bool | None = None
    """True: only these. False: none of them. None: all logs."""
    sort: str = BEGAN
    """One of `OWN_ORDERS`, or a result's name, into one load as "power@8 ohm"."""
    reverse: bool = False
    """Turns the order round: oldest first, worst result first."""
    limit: int = 50
    offset: int = 0

    @property
    def sort_name(self) -> str:
        """The result that is sorted by, or one of `OWN_ORDERS`."""
        return self.sort.partition("@")[0].strip()

    @property
    def sort_load(self) -> str:
        """The load that the result must be into; empty for all."""
        return self.sort.partition("@")[2].strip()

    @property
    def end(self) -> str:
        """The first instant after `until`; empty without it."""
        if self.until is None or self.until == date.max:
            return ""
        return (self.until + timedelta(days=1)).isoformat()

    def check(self) -> None:
        """See that it can be asked.

        Raises:
            QueryError: There is no such verdict, or no such slice of the list.
        """
        if self.verdict and self.verdict not in VERDICTS:
            known = ", ".join(VERDICTS)
            raise QueryError(f"there is no verdict “{self.verdict}”; known: {known}")
        if not 1 <= self.limit <= MOST_LINES or not 0 <= self.offset <= MOST_LINES:
            raise QueryError(f"a list has 1 to {MOST_LINES} lines, and begins at 0 or later")
        if self.since is not None and self.until is not None and self.since > self.until:
            raise QueryError(f"no day lies between {self.since} and {self.until}")


def less_is_better(name: str) -> bool:
    """Whether a smaller value of that result is the better one."""
    return name in _LESS_IS_BETTER or name in LARGEST_SIZE


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a log, for a list."""

    name: str
    value: float
    uncertainty: float | None
    """Expanded; None where nobody says how sure it is."""
    unit: str

    @property
    def text(self) -> str:
        """In figures."""
        return figure_text(self.value, self.uncertainty, self.unit)


@dataclass(frozen=True, slots=True)
class LogRow:
    """One log, as a list shows it."""

    identity: str
    """Hash of its first line: the same wherever a copy of it lies."""
    name: str
    """Name of its folder."""
    folder: Path | None
    """Where it lies on this computer; None for a log of another bench."""
    unit: str
    serial: str
    episode: str
    procedure: str
    revision: int
    title: str
    bench: str
    operator: str
    began: str
    """UTC, ISO 8601."""
    ended: str
    """Empty while it is not ended."""
    verdict: str
    """One of `VERDICTS`."""
    complete: bool
    answered: int
    rehearsal: bool
    transcribed: bool
    problem: str
    """What is wrong with the journal, in short."""
    flags: tuple[str, ...] = ()
    """Names of the flags that stand, worst first, each once."""
    figure: Figure | None = None
    """What was sorted by, where that is a result and the log has it."""
    stops: int = 0
    """How many of its flags are stops."""
    wrongs: int = 0

    @property
    def conclusion(self) -> Conclusion | None:
        """What the run comes to; None where it was not ended, or the journal cannot be read."""
        if not self.ended or self.verdict not in _JUDGED:
            return None
        return Conclusion(Verdict(self.verdict), self.complete, self.stops, self.wrongs)


@dataclass(frozen=True, slots=True)
class Found:
    """The answer to a query."""

    rows: tuple[LogRow, ...]
    more: bool
    """Whether further logs follow."""


def figure_text(value: float, uncertainty: float | None, unit: str) -> str:
    """A stored figure in print; `uncertainty` is expanded."""
    from stepwise.errors import NotationError

    measure = Uncertain(value)
    if uncertainty:
        factor = Uncertain(0.0, {"all": 1.0}).expanded_uncertainty
        measure = Uncertain(value, {"all": uncertainty / factor})
    try:
        return format_uncertain(measure, unit)
    except NotationError:
        return f"{value:g} {unit}" if unit else NOT_A_FIGURE
