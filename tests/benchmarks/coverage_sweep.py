"""How often the stated intervals of a sweep's results hold the truth.

    python -m tests.benchmarks.coverage_sweep [BENCHES]

Seeded benches, each with its own true values and meter errors, read through the real steps:
decibel scale, volts on pointer ranges, digital volts; some with the bench's own response taken
off. Prints a table of the share of expanded intervals (k = 2) that contain the true value.
"""

from __future__ import annotations

import math
import sys
from collections import Counter
from dataclasses import dataclass, field

import numpy as np

from stepwise.bench import MeterType
from stepwise.judge import Result
from stepwise.quantities import require
from stepwise.science import EndOfResponse
from stepwise.steps import Scene, SweepFields
from tests.benchmarks.sweep_benches import (
    LONG,
    SHORT,
    Board,
    Errors,
    own_response,
    random_board,
    random_meter,
    random_scene,
    swept,
)

FALLING = 0.5
"""From this fall on [dB] a level counts as one of a falling end."""


@dataclass(slots=True)
class Coverage:
    """Intervals that were stated, and those that hold the truth."""

    stated: Counter[str] = field(default_factory=Counter)
    held: Counter[str] = field(default_factory=Counter)
    outliers: int = 0
    """Readings named as odd, of which there are none."""

    def note(self, name: str, result: Result, truth: float) -> None:
        self.stated[name] += 1
        inside = abs(result.value - truth) <= result.measure.expanded_uncertainty
        self.held[name] += inside

    def share(self, name: str) -> float:
        return self.held[name] / self.stated[name]


def study(benches: int, seed: int = 7) -> Coverage:
    """Test that many boards on as many benches."""
    coverage = Coverage()
    for bench in range(benches):
        one_bench(np.random.default_rng([seed, bench]), coverage)
    return coverage


def one_bench(random: np.random.Generator, coverage: Coverage) -> None:
    errors = Errors(random)
    board = random_board(random, errors)
    scene = random_scene(random, random_meter(random))
    meter = scene.bench.meters[0]
    decibels = meter.type is MeterType.ANALOGUE and random.random() < 0.6
    own = Board(EndOfResponse(1, 3.0), EndOfResponse(1, 150e3), 0.0)
    corrected = random.random() < 0.25
    if corrected:
        response = own_response(scene, own.level, errors, decibels=decibels)
        scene = Scene(scene.unit, scene.bench, response)
    points = LONG if random.random() < 0.5 else SHORT
    step = SweepFields(id="sweep", title="S", points=points, reference_again=False)

    def shown(hertz: float) -> float:
        return board.level(hertz) + (own.level(hertz) if corrected else 0.0)

    results, _ = swept(step, scene, shown, errors, decibels=decibels)
    compare(results, board, coverage)


def compare(results: tuple[Result, ...], board: Board, coverage: Coverage) -> None:
    orders = {each.name: each.value for each in results if each.name.startswith("order_")}
    for each in results:
        if each.name == "level_db" and each.point is not None:
            truth = board.level(require(each.point, "Hz"))
            coverage.note("level_db, all", each, truth)
            if truth <= -FALLING:
                coverage.note("level_db", each, truth)
        elif each.name.startswith("minus_"):
            crossing = board.crossing(float(each.name[6]), each.name.rpartition("_")[2])
            coverage.note(each.name, each, math.inf if crossing is None else crossing)
        elif each.name.startswith("corner_"):
            side = each.name.rpartition("_")[2]
            coverage.note(each.name, each, true_corner(board, side, orders[f"order_{side}"]))
        elif each.name == "coupling_capacitance":
            coverage.note(each.name, each, board.coupling)
        elif each.name == "outlier":
            coverage.outliers += 1


def true_corner(board: Board, side: str, order: float) -> float:
    """What a corner of that order stands for: of two corners the nearer, or both together."""
    end = board.low if side == "low" else board.high
    if end.corner_hertz is None:
        return math.inf
    separate = end.corners_hertz
    if order == 1.0 and separate:
        return separate[-1] if side == "low" else separate[0]
    return end.corner_hertz


def main() -> None:
    benches = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    coverage = study(benches)
    print(f"{benches} benches: share of 95 % intervals that hold the true value\n")
    print(f"{'result':<24}{'stated':>8}{'held':>9}")
    for name in sorted(coverage.stated):
        print(f"{name:<24}{coverage.stated[name]:>8}{coverage.share(name):>9.1%}")
    print(f"\nreadings wrongly named as odd: {coverage.outliers}")


if __name__ == "__main__":
    main()
