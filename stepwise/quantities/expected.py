"""What a prompt expects to be typed, and what was understood: the two ends of the notation."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Form(StrEnum):
    """How a voltage or current is stated."""

    RMS = "RMS"
    PEAK = "peak"
    PEAK_TO_PEAK = "peak-to-peak"
    DC = "DC"
    PLAIN = ""
    """For everything that has no form: ohms, hertz, degrees, per cent."""


class Answer(StrEnum):
    """The kinds of answer that a prompt may take."""

    QUANTITY = "quantity"
    LEVEL = "level"
    """A level in dB against a reference reading; volts are taken too and turned into dB."""
    SHARE = "share"
    """Per cent, or divisions out of divisions ("0.4/5")."""
    HEAT = "heat"
    """A temperature, or a word for what the finger says."""
    CONFIRM = "confirm"
    TEXT = "text"
    MARK = "mark"
    """A mark from 0 to 10."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What a prompt expects."""

    answer: Answer
    unit: str = ""
    """Unit taken when none is typed, in plain spelling: "V", "mV", "kHz", "ohm", "C", "%"."""
    form: Form = Form.PLAIN
    """Form in which the value is kept; other forms typed are converted, of a sine."""
    meter: str = ""
    """Name of the instrument, for the echo and the record."""
    ranges: tuple[float, ...] = ()
    """Full scales of the meter, in SI; a typed "on 3" must be one of them when given."""
    last: Understood | None = None
    """The reading that "=" repeats."""
    reference_volts: float | None = None
    """For `Answer.LEVEL`: the RMS volts that are 0 dB, where already read."""
    is_sine: bool = True
    """The wave is a sine. Peaks of any other do not tell its RMS, and are refused."""
    last_where: str = ""
    """Where that was taken, for the echo: "left · 8 Ω"."""
    repeats: str = ""
    """What "=" repeats here, where there is none yet: "an earlier level of a sweep"."""


@dataclass(frozen=True, slots=True)
class Understood:
    """One entry, read."""

    typed: str
    """The text exactly as typed."""
    value: float
    """In the SI unit of the dimension; dB in dB, % in %, temperatures in degrees Celsius."""
    unit: str
    """SI unit of `value`: "V", "A", "W", "ohm", "Hz", "F", "s", "C", "dB", "%", or empty."""
    form: Form
    """Form of `value` (always the expected one)."""
    typed_form: Form
    """Form in which it was typed."""
    echo: str
    """The sentence that says what was understood, without a final stop."""
    step: float = 0.0
    """One unit of the last digit typed, in the unit of `value` after all conversion."""
    range_full_scale: float | None = None
    """Full scale of the meter range that was named, in SI, before the multiplier."""
    multiplier: float = 1.0
    """What the reading was multiplied by: a probe's or attenuator's x10."""
    conversion: float = 1.0
    """What turned the typed form into the kept one, e.g. 1/(2 sqrt 2) for peak-to-peak."""
    divisions: float | None = None
    """Divisions read on a graticule, where the entry was in divisions."""
    per_division: float | None = None
    """Volts a division, in SI; for a share, the divisions that are the whole."""
    volts: float | None = None
    """The RMS volts behind a level, where the level was given in volts."""
    interval: tuple[float, float] | None = None
    """Limits of a coarse reading, such as what the finger says of a temperature."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """An entry that cannot be read: a value, not an exception, since people mistype all day."""

    typed: str
    reason: str
    """What is wrong, one clause, no final stop."""
    nearest: str = ""
    """The nearest form that would be right, to be typed instead; the prompt takes it."""
    at: int | None = None
    """Place in `typed` where reading stopped, from 0."""

    @property
    def sentence(self) -> str:
        """The whole message for the screen: what to do comes first, for a line may be cut."""
        hint = f"Type for instance “{self.nearest}”. " if self.nearest else ""
        return f"{hint}{self.reason[:1].upper()}{self.reason[1:]}."
