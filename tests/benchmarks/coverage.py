"""Whether the ± holds the truth: many simulated benches, read as text through the real parser.

    python -m tests.benchmarks.coverage [BENCHES] [SEED]

Every bench has true values and instrument errors of its own, drawn from what its accuracy
statements say; its readings are rounded as an eye or a display rounds them, typed as text, and
worked out by the steps. The mains stands a little elsewhere in each pass. Printed is how often the truth lies within the uncertainty shown.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from statistics import median

import numpy as np

from stepwise.journal import Recorded
from stepwise.judge import Result
from stepwise.quantities import Answer, Understood, parse_entry
from stepwise.steps import (
    recorded_form,
)
from tests.benchmarks.coverage_bench import (
    EYE,
    FOUR_TIMES,
    HAND,
    MAINS,
    RESISTOR,
    THREE_TIMES,
    WORKINGS,
    SimulatedBench,
)

LOWEST, HIGHEST = 93.0, 97.0
"""Bounds that the share of intervals with the truth inside must keep [%]."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What a result would be if nothing were off."""

    of: str
    """What it is, in words."""
    step: str
    name: str
    value: float
    load: str | None = None
    point: str | None = None


def simulate(rng: np.random.Generator, first: int) -> Iterator[tuple[Truth, Result | None]]:
    """One bench: every truth beside what the readings made of it; `first` numbers its answers."""
    bench = SimulatedBench(rng)
    typed: dict[str, str] = {}
    truths: list[Truth] = []
    for part in (_idle, _clip, _output, _levels, _square, _heat):
        part(bench, typed, truths)
    results = WORKINGS.results(_answers(typed, first))
    for truth in truths:
        found = [
            each
            for each in results
            if (each.step, each.name) == (truth.step, truth.name)
            and truth.load in (None, each.load)
            and truth.point in (None, each.point)
        ]
        yield truth, found[0] if found else None


def _idle(bench: SimulatedBench, typed: dict[str, str], truths: list[Truth]) -> None:
    """Milliamperes to a tenth, by volts of as many digits across a resistor; a stopwatch."""
    drawn, delay = bench.between(20.0, 80.0), bench.between(0.5, 4.0)
    seen = drawn * (1.0 + bench.around(RESISTOR))
    seen += bench.around(0.005 * seen + 2.0 * 0.1)
    typed["idle///idle_current"] = f"{seen:.1f}"
    typed["idle///delay"] = f"{delay + bench.around(HAND):.2f}"
    truths.append(Truth("current across a resistor", "idle", "idle_current", drawn / 1000.0))
    truths.append(Truth("time by hand", "idle", "delay", delay))


def _clip(bench: SimulatedBench, typed: dict[str, str], truths: list[Truth]) -> None:
    """Falls are those of a mains that stands still; powers are those that were delivered."""
    rail, winding = bench.between(28.0, 39.0), bench.between(21.0, 29.0)
    mains = 1.0 + bench.around(MAINS)
    typed["idle///rail_plus"] = bench.display(rail * mains)
    typed["idle///secondary_volts"] = bench.pointer(winding * mains)
    usual = {label: bench.between(10.0, 26.0) for label in bench.loads}
    apart = 10.0 ** (bench.between(-1.0, 1.0) / 20.0)
    for channel, ratio in (("left", 1.0), ("right", apart)):
        for label, ohms in bench.loads.items():
            mains, at = 1.0 + bench.around(MAINS), f"clip/{channel}/{label}"
            volts, falls, gives = (
                ratio * usual[label] * mains, bench.between(3.0, 20.0), bench.between(1.0, 8.0)
            )  # fmt: skip
            typed[f"{at}/level"] = bench.pointer(volts)
            typed[f"{at}/rail_plus"] = bench.display(rail * (1.0 - falls / 100.0) * mains)
            loaded = winding / (1.0 + gives / 100.0)
            typed[f"{at}/secondary_volts"] = bench.pointer(loaded * mains)
            if channel == "right":
                continue
            for of, name, value, point in (
                ("power", "power", volts * volts / ohms, None),
                ("sag", "sag", falls, "rail_plus"),
                (
                    "sag of the secondary",
                    "sag",
                    100.0 * (1.0 - loaded / winding),
                    "secondary_volts",
                ),
                ("regulation", "regulation", gives, None),
            ):
                truths.append(Truth(f"{of} into {label}", "clip", name, value, label, point))
    balance = 20.0 * math.log10(apart)
    truths.append(Truth("balance of the clean levels", "clip", "channel_balance", balance))


def _output(bench: SimulatedBench, typed: dict[str, str], truths: list[Truth]) -> None:
    source, volts = bench.between(0.02, 0.6), bench.between(2.0, 2.8)
    typed["output///level_open"] = bench.pointer(volts)
    for name, label in (("level_8", "8 ohm"), ("level_4", "4 ohm")):
        loaded = volts * bench.loads[label] / (bench.loads[label] + source)
        typed[f"output///{name}"] = bench.pointer(loaded)
    truths.append(Truth("source impedance, open and loaded", "output", "source_impedance", source))
    truths.append(Truth("source impedance, two loads", "output", "source_impedance_loads", source))
    # Set up anew each time, the level itself is found again within one per cent or so.
    for look in range(1, 5):
        point = "again" if look == 1 else f"again/{look}"
        typed[f"output///{point}"] = bench.pointer(volts * (1.0 + 0.01 * bench.rng.normal()))
    truths.append(Truth("mean of four readings", "output", "again", volts))


def _levels(bench: SimulatedBench, typed: dict[str, str], truths: list[Truth]) -> None:
    reference, level = bench.between(2.0, 2.9), bench.between(-6.0, 0.5)
    volts = reference * 10.0 ** (level / 20.0)
    typed["volts///reference"] = bench.pointer(reference)
    typed["volts///100 Hz"] = bench.pointer(volts)
    truths.append(Truth("level in dB, from volts", "volts", "level_db", level))
    # On the scale the pointer is set to 0 dB by eye, then followed on the same range.
    zero = math.sqrt(0.6) + bench.scale[1.0]
    level = bench.between(-6.0, 1.5)
    true_zero = math.sqrt(0.6) * 10.0 ** (bench.around(0.25) / 20.0) - bench.scale[1.0]
    shown = true_zero * 10.0 ** (level / 20.0) + bench.scale[1.0]
    typed["scale///reference"] = f"{zero:.2f} on 1"
    typed["scale///100 Hz"] = f"{round(40.0 * math.log10(shown / math.sqrt(0.6))) / 2.0:.1f} dB"
    truths.append(Truth("level in dB, on the scale", "scale", "level_db", level))


def _square(bench: SimulatedBench, typed: dict[str, str], truths: list[Truth]) -> None:
    """Lines of the trace, wherever they lie, each read to the nearest tenth of a division."""
    height, share = bench.between(4.0, 6.0), bench.between(0.05, 0.4)
    below = bench.between(0.0, 1.0)
    base, top, peak = (bench.line(below + each) for each in (0.0, height, (1.0 + share) * height))
    typed["square///10 kHz/none/overshoot"] = f"{peak - top:.1f}/{top - base:.1f}"
    truths.append(Truth("overshoot", "square", "overshoot", 100.0 * share))
    volts = bench.between(10.0, 25.0)
    below, divisions = bench.between(0.0, 1.0), volts * (1.0 + bench.gain) / 5.0
    count = bench.line(below + divisions) - bench.line(below)
    typed["seen///level"] = f"{count:.1f} div at 5"
    truths.append(Truth("volts on the oscilloscope", "seen", "level", volts))
    _rise(bench, typed, truths)


def _rise(bench: SimulatedBench, typed: dict[str, str], truths: list[Truth]) -> None:
    """An edge of one pole or one that slews, five divisions high by eye, read at 10 and 90 %."""
    rise, slews = 10.0 ** bench.between(0.0, 1.0), bench.between(0.0, 1.0) < 0.5
    per = next(each for each in (0.2, 0.5, 1.0, 2.0) if rise <= 5.0 * each)
    base, top = bench.around(0.5 * EYE), 5.0 + bench.around(0.5 * EYE)
    begins = bench.between(0.0, 1.0)

    def time(height: float) -> float:
        share = (height - base) / (top - base)
        shape = share / 0.8 if slews else -math.log(1.0 - share) / math.log(9.0)
        return bench.line(begins + shape * rise / per)

    divisions = (time(4.5) - time(0.5)) * (1.0 + bench.time_base)
    typed["square///10 kHz/none/rise_time"] = f"{divisions:.3f} div at {per:g} us"
    truths.append(Truth("rise time", "square", "rise_time", rise * 1e-6))


def _heat(bench: SimulatedBench, typed: dict[str, str], truths: list[Truth]) -> None:
    for step, times in (("soak", FOUR_TIMES), ("short", THREE_TIMES)):
        air, end = bench.between(18.0, 26.0), bench.between(40.0, 75.0)
        tau = 60.0 * (bench.between(4.0, 12.0) if step == "soak" else bench.between(4.0, 8.0))

        def approach(seconds: float, air: float = air, end: float = end, tau: float = tau) -> float:
            return end - (end - air) * math.exp(-seconds / tau)

        for time in times:
            typed[f"{step}///heatsink at {time}"] = bench.celsius(approach, time)
        words = f"final temperature, {len(times)} readings"
        truths.append(Truth(words, step, "final_temperature", end))


def _answers(typed: Mapping[str, str], first: int) -> dict[str, Recorded]:
    """Typed text through the parser, as a run would take it; no number is given twice."""
    answers: dict[str, Recorded] = {}
    references: dict[str, float] = {}
    for prompt in WORKINGS.prompts:
        if prompt.key not in typed:
            continue
        expected = prompt.expected
        if expected.answer is Answer.LEVEL:
            expected = replace(expected, reference_volts=references[prompt.step])
        entry = parse_entry(typed[prompt.key], expected)
        if not isinstance(entry, Understood):
            raise TypeError(f"{prompt.key}: {entry.sentence}")
        if prompt.point == "reference":
            references[prompt.step] = entry.value
        seq = first + len(answers)
        answers[prompt.key] = Recorded(
            seq, "", prompt.key, entry.typed, "reading", recorded_form(entry)
        )
    return answers


@dataclass(slots=True)
class Coverage:
    """How often an uncertainty held the truth."""

    of: str
    cases: int = 0
    inside: int = 0
    silent: int = 0
    """Benches whose readings had no such result."""
    relative: list[float] = field(default_factory=list)
    """Half-widths, over the values."""
    factors: list[float] = field(default_factory=list)

    @property
    def percent(self) -> float:
        """Share of intervals with the truth inside [%]."""
        return 100.0 * self.inside / self.cases if self.cases else math.nan

    def add(self, truth: Truth, result: Result | None) -> None:
        """Count one bench."""
        if result is None:
            self.silent += 1
            return
        half_width = result.measure.expanded_uncertainty
        self.cases += 1
        self.inside += abs(result.value - truth.value) <= half_width
        self.relative.append(half_width / max(abs(truth.value), 1e-9))
        self.factors.append(result.measure.coverage_factor)


def study(benches: int, seed: int) -> dict[str, Coverage]:
    """Simulate benches and count, by what is measured.

    Args:
        benches: How many.
        seed: Of the one stream of chance.
    """
    rng = np.random.default_rng(seed)
    table: dict[str, Coverage] = {}
    for bench in range(benches):
        for truth, result in simulate(rng, 1 + 1000 * bench):
            table.setdefault(truth.of, Coverage(truth.of)).add(truth, result)
    return table


def main(arguments: list[str]) -> None:
    """Print the table."""
    benches = int(arguments[0]) if arguments else 2000
    seed = int(arguments[1]) if len(arguments) > 1 else 1
    print(f"{benches} benches, seed {seed}; wanted {LOWEST:g} to {HIGHEST:g} %")
    print(f"{'':36}{'inside':>8}{'cases':>7}{'silent':>7}{'median ±':>10}{'median k':>9}")
    for line in study(benches, seed).values():
        verdict = "" if LOWEST <= line.percent <= HIGHEST else "  beyond"
        print(
            f"{line.of:36}{line.percent:7.1f}%{line.cases:7}{line.silent:7}"
            f"{100.0 * median(line.relative):9.1f}%{median(line.factors):9.2f}{verdict}"
        )


if __name__ == "__main__":
    main(sys.argv[1:])
