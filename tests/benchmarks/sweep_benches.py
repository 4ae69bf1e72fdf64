"""Simulated benches with hidden true values and meter errors, for studies of sweeps."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from stepwise.bench import (
    Accuracy,
    Bench,
    Load,
    Meter,
    MeterType,
    Oscillator,
    ScaleResolution,
    Supply,
    Unit,
)
from stepwise.journal import Recorded
from stepwise.judge import Result
from stepwise.quantities import Form, Understood, parse_entry, require
from stepwise.science import EndOfResponse, end_level_db
from stepwise.steps import (
    KINDS,
    BenchResponse,
    Scene,
    SweepFields,
    Workings,
    bench_response,
    recorded_form,
)

LONG = (
    *("10 Hz", "16 Hz", "20 Hz", "31.5 Hz", "50 Hz", "100 Hz", "200 Hz", "500 Hz", "2 kHz"),
    *("5 kHz", "10 kHz", "16 kHz", "20 kHz", "31.5 kHz", "50 kHz", "80 kHz", "100 kHz"),
)
SHORT = (
    *("10 Hz", "16 Hz", "25 Hz", "40 Hz", "80 Hz", "250 Hz"),
    *("5 kHz", "10 kHz", "20 kHz", "40 kHz", "63 kHz", "100 kHz"),
)
BENCH_POINTS = (
    *("10 Hz", "20 Hz", "50 Hz", "100 Hz", "500 Hz"),
    *("5 kHz", "10 kHz", "20 kHz", "50 kHz", "100 kHz"),
)
ZERO_DB_DEFLECTION = math.sqrt(0.6)
DECIBELS_PER_NEPER = 20.0 / math.log(10.0)
RATED_INPUT = 22_000.0
TOLERANCE = 0.05

Level = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Board:
    """What a board really is."""

    low: EndOfResponse
    high: EndOfResponse
    coupling: float
    """[F]"""

    def level(self, hertz: float) -> float:
        """Level re 1 kHz [dB]."""
        return self._raw(hertz) - self._raw(1000.0)

    def _raw(self, hertz: float) -> float:
        return float(end_level_db(hertz, self.low, "low") + end_level_db(hertz, self.high, "high"))

    def crossing(self, drop: float, side: str) -> float | None:
        """Where it is that far down on one side [Hz], between 1 Hz and 1 MHz."""
        outer = 1.0 if side == "low" else 1e6
        grid = np.geomspace(1000.0, outer, 4001)
        levels = np.array([self.level(float(hertz)) for hertz in grid[::40]])
        below = np.flatnonzero(levels <= -drop)
        if below.size == 0:
            return None
        place = int(below[0]) * 40
        fine = grid[place - 40 : place + 1]
        levels = np.array([self.level(float(hertz)) for hertz in fine])
        return float(np.exp(np.interp(drop, -levels, np.log(fine))))


class Errors:
    """The hidden errors of one bench; each name has one amount, for good."""

    def __init__(self, random: np.random.Generator) -> None:
        self._random = random
        self._amounts: dict[str, float] = {}

    def of(self, name: str) -> float:
        """Share of the limit of error that it uses up, from -1 to 1."""
        if name not in self._amounts:
            self._amounts[name] = float(self._random.uniform(-1.0, 1.0))
        return self._amounts[name]


def random_board(random: np.random.Generator, errors: Errors) -> Board:
    """A board with a coupling capacitor, and a high end of one kind or another."""
    resistance = RATED_INPUT * (1.0 + 0.5 * TOLERANCE * random.standard_normal())
    resistance += 600.0 * (1.0 + TOLERANCE * errors.of("source resistance"))
    corner = math.exp(random.uniform(math.log(5.0), math.log(40.0)))
    low = EndOfResponse(1, corner)
    if random.random() < 0.2:
        low = two_corners(corner, corner / random.uniform(3.0, 8.0))
    kind = random.random()
    high = EndOfResponse(0)
    if kind < 0.5:
        high = EndOfResponse(1, math.exp(random.uniform(math.log(30e3), math.log(150e3))))
    elif kind < 0.8:
        natural = math.exp(random.uniform(math.log(35e3), math.log(100e3)))
        high = EndOfResponse(2, natural, q=float(random.uniform(0.6, 1.3)))
    return Board(low, high, 1.0 / (2.0 * math.pi * resistance * corner))


def two_corners(first: float, second: float) -> EndOfResponse:
    """Two separate first-order corners [Hz] as one second-order end."""
    natural = math.sqrt(first * second)
    return EndOfResponse(2, natural, q=natural / (first + second))


def random_meter(random: np.random.Generator) -> Meter:
    """A pointer meter or a digital one."""
    if random.random() < 0.25:
        return Meter(
            "ac", MeterType.DIGITAL, Accuracy(of_reading=0.01, digits=3.0), "V", Form.RMS,
            counts=4000,
        )  # fmt: skip
    return Meter(
        "ac",
        MeterType.ANALOGUE,
        Accuracy(of_scale=float(random.choice([0.015, 0.02, 0.03]))),
        "V",
        Form.RMS,
        (0.1, 0.3, 1.0, 3.0, 10.0, 30.0),
        ScaleResolution(0.25, 30),
        decibel_step=float(random.choice([0.1, 0.25, 0.5])),
    )


def in_decibels(level: float, meter: Meter, errors: Errors, key: str) -> str:
    """A level as noted from the decibel scale."""
    deflection = ZERO_DB_DEFLECTION * 10.0 ** (level / 20.0)
    same = 1.0 / deflection - 1.0 / ZERO_DB_DEFLECTION
    changed = math.sqrt(2.0) / ZERO_DB_DEFLECTION
    factor = same if abs(same) < changed else changed
    off = DECIBELS_PER_NEPER * meter.accuracy.of_scale * factor * errors.of("decibel scale")
    off += 0.5 * meter.decibel_step * errors.of(f"{key} setting")
    return f"{round((level + off) / meter.decibel_step) * meter.decibel_step:.2f}"


def in_volts(volts: float, meter: Meter, errors: Errors) -> str:
    """Volts as noted from a pointer on its range, or from a display."""
    if meter.type is MeterType.DIGITAL:
        digit = 10.0 ** math.ceil(math.log10(volts / (meter.counts or 4000)))
        limit = meter.accuracy.of_reading * volts + meter.accuracy.digits * digit
        shown = volts + limit * errors.of(f"decade {math.floor(math.log10(volts))}")
        decimals = max(0, -round(math.log10(digit)))
        return f"{round(shown / digit) * digit:.{decimals}f} V"
    for full in meter.ranges:
        step = full * 0.25 / 30
        seen = volts + meter.accuracy.of_scale * full * errors.of(f"range {full:g}")
        shown = round(seen / step) * step
        if shown <= full:
            return f"{shown:.6f} on {full:g}"
    raise ValueError(f"{volts:g} V is beyond all ranges")


def answered(
    step: SweepFields, scene: Scene, level: Level, errors: Errors, *, decibels: bool
) -> tuple[Workings, dict[str, Recorded]]:
    """Answer every prompt of a sweep as the bench shows it."""
    workings = Workings([step], KINDS, scene)
    meter = scene.bench.meter("ac")
    assert meter is not None
    reference_volts = 2.0 + 0.5 * errors.of("reference level")
    answers: dict[str, Recorded] = {}
    zero: float | None = None
    for prompt in workings.prompts:
        here = 0.0 if prompt.point == "reference" else level(require(prompt.point, "Hz"))
        if decibels and prompt.point != "reference":
            typed = in_decibels(here, meter, errors, step.id)
        else:
            typed = in_volts(reference_volts * 10.0 ** (here / 20.0), meter, errors)
        expected = prompt.expected
        if prompt.point != "reference":
            expected = replace(expected, reference_volts=zero)
        entry = parse_entry(typed, expected)
        assert isinstance(entry, Understood), (typed, entry)
        zero = entry.value if prompt.point == "reference" else zero
        data = {"typed": typed, **recorded_form(entry)}
        answers[prompt.key] = Recorded(len(answers) + 1, "", prompt.key, typed, "reading", data)
    return workings, answers


def swept(
    step: SweepFields, scene: Scene, level: Level, errors: Errors, *, decibels: bool
) -> tuple[tuple[Result, ...], list[str]]:
    """Results of a whole sweep, and the keys of its prompts."""
    workings, answers = answered(step, scene, level, errors, decibels=decibels)
    return workings.results(answers), list(answers)


def random_scene(random: np.random.Generator, meter: Meter) -> Scene:
    """The unit and the bench as they are believed to be."""
    unit = Unit("Teal", ("left",), {"input_resistance": RATED_INPUT}, ())
    oscillator = Oscillator(600.0, TOLERANCE)
    return Scene(unit, Bench("Hall", (meter,), (Load(8.0, 8.0),), Supply(), oscillator))


def own_response(scene: Scene, level: Level, errors: Errors, *, decibels: bool) -> BenchResponse:
    """The bench's own sweep, read on the same meter."""
    step = SweepFields(
        id="flatness", title="F", points=BENCH_POINTS, of_bench=True, reference_again=False
    )
    results, keys = swept(step, scene, level, errors, decibels=decibels)
    levels = [
        (require(each.point, "Hz"), each.measure)
        for each in results
        if each.name == "level_db" and each.point is not None
    ]
    return bench_response("bench", levels, keys, 1000.0)
