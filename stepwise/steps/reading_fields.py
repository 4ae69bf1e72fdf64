"""What a `readings` step may say in TOML."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from stepwise.judge import LimitFields
from stepwise.steps.fields import FrequencyText, Hold, LoadText, NameText, StepFields

Balance = LimitFields | bool
"""True: channels are compared. A limit: they are, and the difference is judged by it."""


class ReadingAsk(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One thing to read."""

    name: NameText
    ask: Annotated[str, msgspec.Meta(min_length=1)]
    unit: str
    """Unit taken when none is typed: "V", "mV", "mA", "ohm"."""
    meter: str = ""
    """Id of the bench's meter; empty where the value is not read from one. A resistance that
    names none is read from the bench's ohmmeter, where there is one."""
    resistor: str = ""
    """Tolerance of the resistor that a current is read across with a meter for volts, such as
    "5 %"; empty where nobody knows it."""
    limit: LimitFields | None = None
    hold: Hold = False
    """True: nothing later opens unless this is in spec. A list: only the steps named wait. A
    table { except = […] }: all later ones wait but those named."""
    optional: bool = False
    load: LoadText | None = None
    """Load to be connected; not asked where the bench lacks it or the unit cannot bear it."""
    tone: FrequencyText | None = None
    """Tone that is on while this is read."""
    times: Annotated[int, msgspec.Meta(ge=1, le=20)] = 1
    """How often it is read, set up anew each time; what is judged is the mean."""
    balance: Balance = False
    """Compare this channel with the first, in dB."""


class NoiseAsk(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Noise that stands in a reading, and is taken off by power before the formula sees it."""

    level: NameText
    """Name that the formula uses."""
    noise: NameText
    """What was read there without the signal."""
    channel: Literal["same", "other"] = "same"
    """Whose noise it is: this channel's, or the other one's where its output was read."""


class DeriveAsk(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    rename={"formula": "from"},
):
    """One thing to work out from readings, or to state."""

    name: NameText
    unit: str
    formula: str
    """Arithmetic on names (+ - * / **, parentheses, sqrt abs log10 min max), or a quantity such
    as "2.83 V", which is then known by the name."""
    without_noise: NoiseAsk | None = None
    """What is taken off first. Near the noise the result is said to be a bound."""
    label: str = ""
    limit: LimitFields | None = None
    balance: Balance = False
    """Compare this channel with the first, in dB."""


class ReadingsFields(StepFields, frozen=True, kw_only=True, tag="readings"):
    """Named readings and what follows from them."""

    readings: Annotated[tuple[ReadingAsk, ...], msgspec.Meta(min_length=1)]
    derive: tuple[DeriveAsk, ...] = ()
