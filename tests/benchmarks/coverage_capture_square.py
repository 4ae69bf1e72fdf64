"""How often the stated intervals of a captured square wave hold the truth.

    python -m tests.benchmarks.coverage_capture_square [CAPTURES]

CAPTURES seeded traces (default 50) of each kind: one pole, two poles that ring or not, straight
edges; 6 to 40 samples on an edge, 2 to 20 edges, with no or 8 bits and noise of 0 to 2 % of the
height. The responses are exact, from minus a few periods on. Prints a table of the share of
intervals (k = 2) that hold the truth, of the mean error and of the median half width; then the
same of the rise time for edges that few samples lie on, with how often it is told at all.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from stepwise.science import SquareAnalysis, analyse_square

CAPTURES = 50
HEIGHT = 10.0
SCREEN = 0.6
"""Share of the converter's range that a step fills."""
NOISES = ((0.0, 8), (0.002, 0), (0.002, 8), (0.01, 8), (0.02, 8))
"""Of the height, and bits; 0 for a trace without steps."""
ON_EDGE = (0.25, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0, 8.0, 10.0)
NAMES = ("height", "overshoot", "preshoot", "rise", "fall", "slope")

Response = Callable[[np.ndarray], np.ndarray]


def _ringing(ratio: float) -> Response:
    damped, angle = math.sqrt(1.0 - ratio**2), math.acos(ratio)
    return lambda t: 1.0 - np.exp(-ratio * t) / damped * np.sin(damped * t + angle)


RESPONSES: dict[str, tuple[Response, float]] = {
    "one pole": (lambda t: -np.expm1(-t), 8.0),
    "two equal poles": (lambda t: 1.0 - np.exp(-t) * (1.0 + t), 8.0),
    "ringing 0.2": (_ringing(0.2), 30.0),
    "ringing 0.4": (_ringing(0.4), 16.0),
    "ringing 0.7": (_ringing(0.7), 8.0),
    "straight": (lambda t: np.clip(t, 0.0, 1.0), 8.0),
}
"""Step responses, and durations after which they have settled."""


@dataclass(frozen=True)
class Shape:
    """A step response, its figures known."""

    response: Response
    duration: float
    """From 10 % to 90 %."""
    overshoot: float
    """[%]"""
    slope: float
    """Steepest between 10 % and 90 %, in heights a duration."""

    @classmethod
    def of(cls, name: str) -> Shape:
        response = RESPONSES[name][0]
        times = np.linspace(0.0, 40.0, 400_001)
        share = response(times)
        until = int(np.argmax(share >= 0.95)) + 1
        first, last = np.interp([0.1, 0.9], share[:until], times[:until])
        over = 100.0 * max(float(share.max()) - 1.0, 0.0)
        edge = (times >= first) & (times <= last)
        slope = float(np.gradient(share, times)[edge].max()) * float(last - first)
        return cls(response, float(last - first), over if over > 1e-6 else 0.0, slope)


def capture(
    name: str, on_edge: float, edges: int, noise: tuple[float, int], random: np.random.Generator
) -> tuple[np.ndarray, dict[str, float]]:
    """A trace of so many edges, one sample a second, and its truth."""
    shape = Shape.of(name)
    half = max(on_edge * RESPONSES[name][1] * math.exp(random.uniform(0.0, 2.0)), 12.0)
    size = int(half * (edges + random.uniform(0.1, 0.9)))
    at = np.arange(size) - (0.0 if edges > 1 else random.uniform(0.3, 0.5) * half)
    first = -random.uniform() * half
    wave, sign = np.full(size, -0.5), 1.0
    for begin in first + half * np.arange(-8, edges + 3):
        after = np.maximum((at - begin) * shape.duration / on_edge, 0.0)
        wave += sign * shape.response(after)
        sign = -sign
    share, bits = noise
    volts = HEIGHT * (wave + share * random.normal(size=size))
    if bits:
        step = HEIGHT / SCREEN / 2**bits
        volts = step * np.round(volts / step)
    truth = {"height": HEIGHT, "overshoot": shape.overshoot, "preshoot": 0.0}
    slope = HEIGHT * shape.slope / on_edge
    return volts, {**truth, "rise": on_edge, "fall": on_edge, "slope": slope}


def stated(found: SquareAnalysis) -> dict[str, tuple[float, float]]:
    """Name -> value and standard uncertainty."""
    sure = found.standard
    height = found.high_volts - found.low_volts
    shown = {
        "height": (height, math.sqrt(2.0) * sure.level_volts),
        "overshoot": (found.overshoot_percent, sure.overshoot_percent),
        "preshoot": (found.preshoot_percent, sure.preshoot_percent),
    }
    if found.rise_time_s is not None and sure.rise_time_s is not None:
        shown["rise"] = found.rise_time_s, sure.rise_time_s
    if found.fall_time_s is not None and sure.fall_time_s is not None:
        shown["fall"] = found.fall_time_s, sure.fall_time_s
    if found.slew_volts_per_s is not None and sure.slew_volts_per_s is not None:
        shown["slope"] = found.slew_volts_per_s, sure.slew_volts_per_s
    return shown


def intervals(
    name: str, noise: tuple[float, int], captures: int
) -> Iterator[tuple[str, float, float]]:
    """Name, error and half width of every interval."""
    random = np.random.default_rng([len(name), round(1e4 * noise[0]), noise[1]])
    for _ in range(captures):
        on_edge = math.exp(random.uniform(math.log(6.0), math.log(40.0)))
        edges = int(random.choice([2, 3, 5, 8, 20]))
        volts, truth = capture(name, on_edge, edges, noise, random)
        for each, (value, standard) in stated(analyse_square(volts, 1.0)).items():
            # what is exact is off by rounding only
            yield each, value - truth[each], 2.0 * standard + 1e-9


def rise_times(on_edge: float, captures: int) -> Iterator[tuple[bool, bool]]:
    """Whether rise times of so many samples are told, and whether what is said holds."""
    random = np.random.default_rng(round(100 * on_edge))
    for at in range(captures):
        name = list(RESPONSES)[at % len(RESPONSES)]
        edges = int(random.choice([2, 4, 8, 20, 60]))
        noise = ((0.002, 0), (0.005, 8), (0.01, 8))[at % 3]
        volts, _ = capture(name, on_edge, edges, noise, random)
        found = analyse_square(volts, 1.0)
        if found.rise_time_s is not None and found.standard.rise_time_s is not None:
            yield True, abs(found.rise_time_s - on_edge) <= 2.0 * found.standard.rise_time_s
        elif found.fast_edges is not None:
            yield False, on_edge <= found.fast_edges.longest_s


def main() -> None:
    captures = int(sys.argv[1]) if len(sys.argv) > 1 else CAPTURES
    print(f"{'held, mean error, ±':34}" + "".join(f"{name:>26}" for name in NAMES))
    for name in RESPONSES:
        for noise in NOISES:
            found = list(intervals(name, noise, captures))
            told = ""
            for wanted in NAMES:
                off, half = np.array([each[1:] for each in found if each[0] == wanted]).T
                held = 100.0 * np.mean(np.abs(off) <= half)
                told += f"{held:>8.0f} % {off.mean():>7.4f} {np.median(half):>7.4f}"
            print(f"{name:<16} {noise[0]:>6.1%}, {noise[1]} bits  {told}")
    print("\nsamples on an edge   rise time told, and holds   at most, and holds")
    for on_edge in ON_EDGE:
        said = list(rise_times(on_edge, 2 * captures))
        told, most = ([held for is_told, held in said if is_told is each] for each in (True, False))
        print(f"{on_edge:>18}   {len(told):>14} {sum(told):>12}   {len(most):>9} {sum(most):>10}")


if __name__ == "__main__":
    main()
