"""A simulated bench for the study of coverage: what stands on it, what is asked, its true errors."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from stepwise.bench import (
    Bench,
    Detector,
    Load,
    Meter,
    MeterType,
    Unit,
    parse_accuracy,
    parse_resolution,
)
from stepwise.quantities import Form
from stepwise.steps import (
    KINDS,
    ClipFields,
    ReadingsFields,
    Scene,
    SquareFields,
    StepFields,
    SweepFields,
    ThermalFields,
    Workings,
)
from stepwise.steps.reading_fields import DeriveAsk, ReadingAsk
from stepwise.steps.square import Look

CLASS = 0.03
QUARTER = 1.0 / 120.0
"""A quarter of one of 30 divisions, as a share of full scale."""
RANGES = (1.0, 3.0, 10.0)
MARKED = {"8 ohm": 8.06, "4 ohm": 4.02}
LOAD_DOUBT = 0.005
EYE = 0.1
"""Step that a line of a trace is read to [div]."""
SCALES = 0.03
"""Of the oscilloscope, either one."""
MAINS = 0.01
"""Either way in each pass, share of where it usually stands [1]."""
RESISTOR = 0.05
HAND = 0.2
"""[s]"""
THERMOMETER = 1.5
"""[K]"""
CLOCK = 15.0
"""[s]"""

AC = Meter(
    "ac", MeterType.ANALOGUE, parse_accuracy("3 % of full scale"), "V", Form.RMS, RANGES,
    parse_resolution("1/4 division of 30"), Detector.RMS, decibel_step=0.5,
)  # fmt: skip
DC = Meter("dc", MeterType.DIGITAL, parse_accuracy("0.5 % + 2 digits"), "V", Form.DC, counts=4000)
SCOPE = Meter(
    "scope", MeterType.OSCILLOSCOPE, parse_accuracy("3 %"), "V",
    resolution=parse_resolution("1/10 division"),
)  # fmt: skip
WARM = Meter("thermometer", MeterType.DIGITAL, parse_accuracy("1.5 C"), "C")
SCENE = Scene(
    Unit("Teal", ("left", "right")),
    Bench(
        "Hall workshop",
        (AC, DC, SCOPE, WARM),
        (Load(8.0, 8.06, LOAD_DOUBT), Load(4.0, 4.02, LOAD_DOUBT)),
    ),
)
FOUR_TIMES, THREE_TIMES = ("5 min", "10 min", "20 min", "30 min"), ("5 min", "10 min", "15 min")


def _ask(name: str, **more: object) -> ReadingAsk:
    return ReadingAsk(name=name, ask=name, unit="V", meter="ac", **more)  # type: ignore[arg-type]


STEPS: tuple[StepFields, ...] = (
    ReadingsFields(
        id="idle",
        title="Idle",
        readings=(
            ReadingAsk(name="rail_plus", ask="Rail", unit="V", meter="dc"),
            ReadingAsk(name="secondary_volts", ask="Secondary", unit="V", meter="ac"),
            ReadingAsk(name="idle_current", ask="I", unit="mA", meter="dc", resistor="5 %"),
            ReadingAsk(name="delay", ask="Delay", unit="s"),
        ),
    ),
    ClipFields(
        id="clip",
        title="Clean power",
        repeat=("channel", "load"),
        also=("secondary_volts", "rail_plus"),
    ),
    ReadingsFields(
        id="output",
        title="Output",
        readings=(_ask("level_open"), _ask("level_8"), _ask("level_4"), _ask("again", times=4)),
        derive=(
            DeriveAsk(
                name="source_impedance", unit="ohm", formula="load_4 * (level_open / level_4 - 1)"
            ),
            DeriveAsk(
                name="source_impedance_loads",
                unit="ohm",
                formula="(level_8 - level_4) / (level_4 / load_4 - level_8 / load_8)",
            ),
        ),
    ),
    SweepFields(id="volts", title="In volts", points=("100 Hz",), reference="1 kHz"),
    SweepFields(id="scale", title="On the scale", points=("100 Hz",), reference="1 kHz"),
    SquareFields(
        id="square",
        title="Square",
        looks=(Look(tone="10 kHz", look_for=("overshoot", "rise_time")),),
    ),
    ReadingsFields(
        id="seen",
        title="On the oscilloscope",
        readings=(ReadingAsk(name="level", ask="Level", unit="V", meter="scope"),),
    ),
    ThermalFields(id="soak", title="S", places=("heatsink",), at=FOUR_TIMES, meter="thermometer"),
    ThermalFields(id="short", title="S", places=("heatsink",), at=THREE_TIMES, meter="thermometer"),
)
WORKINGS = Workings(STEPS, KINDS, SCENE)


@dataclass(slots=True)
class SimulatedBench:
    """One bench with its true errors."""

    rng: np.random.Generator
    scale: Mapping[float, float] = field(init=False)
    """Full scale -> what the pointer is off on that range [V]."""
    loads: Mapping[str, float] = field(init=False)
    decades: Mapping[int, float] = field(init=False)
    """Decade of a display -> its error over its limit [1]."""
    thermometer: float = field(init=False)
    gain: float = field(init=False)
    """Of the oscilloscope [1]."""
    time_base: float = field(init=False)
    """Of the oscilloscope [1]."""

    def __post_init__(self) -> None:
        self.scale = {full: self.around(CLASS * full) for full in RANGES}
        self.loads = {
            label: ohms * (1.0 + self.around(LOAD_DOUBT)) for label, ohms in MARKED.items()
        }
        self.decades = {decade: self.around(1.0) for decade in range(-2, 4)}
        self.thermometer = self.around(THERMOMETER)
        self.gain, self.time_base = self.around(SCALES), self.around(SCALES)

    def around(self, half_width: float) -> float:
        """Anything within limits."""
        return float(self.rng.uniform(-half_width, half_width))

    def between(self, low: float, high: float) -> float:
        """A true value."""
        return float(self.rng.uniform(low, high))

    @staticmethod
    def line(divisions: float) -> float:
        """Where a line of a trace is read, by an eye that settles on a step [div]."""
        return round(divisions / EYE) * EYE

    def pointer(self, volts: float) -> str:
        """As read on the lowest range that holds it, to a quarter of a division."""
        for factor in (1, 10):
            for full in RANGES:
                shown = volts / factor + self.scale[full]
                if shown <= full:
                    read = round(shown / (full * QUARTER)) * full * QUARTER
                    times = f" x{factor}" if factor > 1 else ""
                    return f"{read:.5f} on {full:g}{times}"
        raise ValueError(f"{volts} V is off all ranges")

    def display(self, volts: float) -> str:
        """As a display of 4000 counts shows it, within its limits."""
        digit = 10.0 ** math.ceil(math.log10(volts / 4000.0))
        limit = 0.005 * volts + 2.0 * digit
        shown = volts + self.decades[math.floor(math.log10(volts))] * limit
        return f"{round(shown / digit) * digit:.{max(0, -round(math.log10(digit)))}f}"

    def celsius(self, approach: Callable[[float], float], time: str) -> str:
        """As a thermometer of whole degrees shows it, somewhat off the time asked for."""
        seconds = float(time.split()[0]) * 60.0 + self.around(CLOCK)
        return f"{approach(seconds) + self.thermometer:.0f}"
