"""What a fit of one sweep costs, beside scipy.optimize.curve_fit on the same data.

    python -m tests.benchmarks.sweep_fit [TIMES]

curve_fit is given one family and told which; `fit_response` tries all nine, robustly, and says
how the chosen one hangs on each level. Then a whole pass of a sweep through the real steps, as
after each key. Times are those of the processor. Prints, asserts nothing.
"""

from __future__ import annotations

import sys
import time
import warnings
from collections.abc import Callable
from dataclasses import replace
from itertools import count
from statistics import median

import numpy as np
from scipy.optimize import OptimizeWarning, curve_fit

from stepwise.quantities import require
from stepwise.science import EndOfResponse, end_level_db, fit_response
from stepwise.steps import SweepFields
from tests.benchmarks.sweep_benches import LONG, Board, Errors, answered, random_meter, random_scene

TIMES = 200
HERTZ = np.array([1000.0, *(require(text, "Hz") for text in LONG)])
CASES = {
    "one corner each": (EndOfResponse(1, 10.0), EndOfResponse(1, 90e3)),
    "flat": (EndOfResponse(0), EndOfResponse(0)),
    "resonant both": (EndOfResponse(2, 15.0, q=1.2), EndOfResponse(2, 50e3, q=1.5)),
    "two corners each": (EndOfResponse(2, 15.0, q=0.4), EndOfResponse(2, 50e3, q=0.4)),
}


def milliseconds(act: Callable[[], object], times: int) -> float:
    for _ in range(min(10, times)):
        act()
    taken = []
    for _ in range(times):
        start = time.thread_time()
        act()
        taken.append(1000.0 * (time.thread_time() - start))
    return median(taken)


def model(orders: tuple[int, int]) -> tuple[Callable[..., np.ndarray], list[float]]:
    """The same family for curve_fit: offset, then the logarithms of corner and Q of each end."""

    def levels(hertz: np.ndarray, *parameters: float) -> np.ndarray:
        rest = list(parameters[1:])
        total = np.full_like(hertz, parameters[0])
        for order, side in zip(orders, ("low", "high"), strict=True):
            numbers = [float(np.exp(rest.pop(0))) for _ in range(order)]
            corner, q = [*numbers, None, None][:2]
            total = total + end_level_db(hertz, EndOfResponse(order, corner, q=q), side)
        return total

    start = [0.0, *[np.log(12.0), 0.0][: orders[0]], *[np.log(60e3), 0.0][: orders[1]]]
    return levels, start


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else TIMES
    random = np.random.default_rng(1)
    warnings.simplefilter("ignore", OptimizeWarning)
    print(f"{'18 points':<20}{'fit_response':>14}{'curve_fit':>14}{'ratio':>8}{'nine of them':>16}")
    for name, (low, high) in CASES.items():
        clean = end_level_db(HERTZ, low, "low") + end_level_db(HERTZ, high, "high")
        levels = clean + random.normal(0.0, 0.1, HERTZ.size)
        function, start = model((low.order, high.order))
        ours = milliseconds(lambda levels=levels: fit_response(HERTZ, levels, 0.1), times)
        theirs = milliseconds(
            lambda levels=levels, function=function, start=start: curve_fit(
                function, HERTZ, levels, start, np.full(HERTZ.size, 0.1), absolute_sigma=True
            ),
            times,
        )
        print(f"{name:<20}{ours:>11.2f} ms{theirs:>11.2f} ms{ours / theirs:>8.2f}", end="")
        print(f"{ours / (9.0 * theirs):>16.2f}")
    whole_pass(times)


def whole_pass(times: int) -> None:
    """The last key of a sweep: every result of the pass is worked out again."""
    random = np.random.default_rng(2)
    errors = Errors(random)
    scene = random_scene(random, random_meter(random))
    board = Board(EndOfResponse(1, 14.0), EndOfResponse(2, 60e3, q=0.9), 0.0)
    step = SweepFields(
        id="sweep", title="S", points=LONG, band=("20 Hz", "20 kHz"), reference_again=False
    )
    workings, answers = answered(step, scene, board.level, errors, decibels=False)
    last = list(answers)[-1]
    numbers = count(1000)

    def key_press() -> object:
        # A new number makes it a new answer, and the whole pass is worked out for it.
        answers[last] = replace(answers[last], seq=next(numbers))
        return workings.results(answers)

    print(f"\nwhole pass of {len(LONG)} points: {milliseconds(key_press, times):.2f} ms")


if __name__ == "__main__":
    main()
