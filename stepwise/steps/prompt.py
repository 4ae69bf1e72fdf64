"""A prompt: one thing that is asked, with all that the person needs to answer it."""

from __future__ import annotations

from dataclasses import dataclass, field

from stepwise.quantities import Answer, Expected, Uncertain, si_unit


@dataclass(frozen=True, slots=True)
class Pass:
    """One turn of a step: for one channel, one load, or once for all."""

    step: str
    channel: str | None = None
    load: str | None = None
    key: str = field(init=False, repr=False, compare=False)
    """Unique within a procedure; empty places stay, so that keys never collide."""

    def __post_init__(self) -> None:
        # Made once: keys are looked up some thousand times for each answer.
        key = f"{self.step}/{self.channel or ''}/{self.load or ''}"
        object.__setattr__(self, "key", key)

    def prompt_key(self, point: str) -> str:
        """Key of the prompt for `point` in this pass."""
        return f"{self.key}/{point}"


def pass_key(prompt_key: str) -> str:
    """Key of the pass that a prompt belongs to.

    A point may hold slashes of its own (tone/capacitor/what); step, channel and load do not.
    """
    return "/".join(prompt_key.split("/", 3)[:3])


@dataclass(frozen=True, slots=True)
class Setting:
    """One thing to set before reading: what, and to what."""

    what: str
    to: str


@dataclass(frozen=True, slots=True)
class Prompt:
    """One question of the run."""

    of: Pass
    kind: str
    """The step's kind."""
    point: str
    """Name within the pass: a reading's name, a frequency, tone/capacitor/what."""
    ask: str
    """The question, without a final mark."""
    expected: Expected
    meter: str = ""
    """Id of the bench's meter; empty where none is read."""
    settings: tuple[Setting, ...] = ()
    optional: bool = False
    hold: bool = False
    """The step's hold, or this reading's own: it cannot be skipped."""
    hold_for: tuple[str, ...] = ()
    """Ids of the steps that it holds; empty for all that come later."""
    hold_except: tuple[str, ...] = ()
    """Ids of later steps that stay open, where it holds all others: they make the board dead."""
    tone: bool = False
    """The tone is on while this is read."""
    tolerance: float = 0.0
    """Limit of error of the resistor that a current is read across, share of it [1]."""
    key: str = field(init=False, repr=False, compare=False)
    """The key that every answer carries."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", self.of.prompt_key(self.point))

    @property
    def step(self) -> str:
        """Id of the step."""
        return self.of.step

    @property
    def meter_hint(self) -> str:
        """What it is read from, for the card; empty where that needs no word."""
        expected = self.expected
        is_bare = expected.answer is Answer.QUANTITY and not expected.meter and expected.unit
        unit = si_unit(expected.unit) if is_bare else ""
        if unit == "s":
            return "timed by hand, unless it is read off a trace in divisions"
        if unit == "ohm":
            return "none of this bench reads Ω, so only the last digit is known of it"
        if unit:
            return "none of this bench is named for it, so only the last digit is known of it"
        return expected.meter


@dataclass(frozen=True, slots=True)
class Reading:
    """An accepted answer, with the uncertainty of its instrument."""

    key: str
    point: str
    typed: str
    answer: str
    """"reading", "confirm", "refuse" or "skip"."""
    measure: Uncertain | None
    """None for text, confirmations and skips."""
    unit: str
    range_full_scale: float | None = None
    seq: int = 0
    """Place of the answer in the journal."""
    at: str = ""
    """When it was answered, ISO 8601, where its kind tells time by it; empty elsewhere, and where
    that is not known."""
    deflection: float | None = None
    """Share of full scale that the pointer stood at [1]; above 1 where no range of the meter holds
    it; None where nothing is known of it."""
    better_range: float | None = None
    """Full scale of a lower range that would have held it, where there is one."""
    volts: Uncertain | None = None
    """The volts behind a level that was typed in volts [V RMS]."""
    is_captured: bool = False
    """It was taken from a capture, not from the meter that the prompt names."""
