"""How often the right family of response is chosen, and whether its corner is where it says.

    python -m tests.benchmarks.model_choice [SWEEPS]

Seeded sweeps of twelve points and a reference, each read to 0.1, 0.25 or 0.5 dB; each end is
flat, has one corner, two separate corners, or a resonant pair with a hump. Prints a table.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass

import numpy as np

from stepwise.science import EndOfResponse, ResponseFit, end_level_db, fit_response

REFERENCE = 1000.0
LOW = (10.0, 16.0, 25.0, 40.0, 80.0, 250.0)
HIGH = (4e3, 10e3, 20e3, 40e3, 63e3, 100e3)
HERTZ = np.array([*LOW, REFERENCE, *HIGH])
STEPS = (0.1, 0.25, 0.5)
FAMILIES = ("flat", "one corner", "two corners", "hump")
SMALLEST_STANDARD = 0.05
HUMP_FROM = 0.5**0.5
"""Q from which a second-order end has a hump."""


@dataclass(frozen=True, slots=True)
class Tally:
    """What came of the ends of all sweeps, by family."""

    seen: Counter[str]
    right: Counter[str]
    corners: Counter[str]
    """Corners of ends whose family was found."""
    inside: Counter[str]
    """Those within their expanded uncertainty."""
    sweeps_right: float
    """Share of sweeps with both ends right."""

    def share_right(self) -> float:
        return self.right.total() / self.seen.total()

    def share_inside(self) -> float:
        return self.inside.total() / self.corners.total()


def true_end(family: str, side: str, random: np.random.Generator) -> EndOfResponse:
    """An end with its corner from a little beyond the points to well within them."""
    if family == "flat":
        return EndOfResponse(0)
    away = random.uniform(np.log(0.8), np.log(5.0))
    corner = float(10.0 * np.exp(away) if side == "low" else 100e3 / np.exp(away))
    if family == "one corner":
        return EndOfResponse(1, corner)
    q = random.uniform(0.33, 0.5) if family == "two corners" else random.uniform(0.9, 2.0)
    return EndOfResponse(2, corner, q=float(q))


def read_sweep(
    low: EndOfResponse, high: EndOfResponse, step: float, random: np.random.Generator
) -> np.ndarray:
    """Levels as a person notes them, the pointer set to 0 dB at the reference."""
    levels = end_level_db(HERTZ, low, "low") + end_level_db(HERTZ, high, "high")
    at_reference = levels[HERTZ == REFERENCE]
    noted = np.round((levels - at_reference + step * random.uniform(-0.5, 0.5)) / step) * step
    noted[HERTZ == REFERENCE] = 0.0
    return noted


def family_of(end: EndOfResponse) -> str:
    if end.q is None:
        return FAMILIES[end.order]
    return "hump" if end.q > HUMP_FROM else "two corners"


def study(sweeps: int, seed: int = 20) -> Tally:
    """Fit that many sweeps and count."""
    random = np.random.default_rng(seed)
    tally = Tally(Counter(), Counter(), Counter(), Counter(), 0.0)
    both = 0
    for _ in range(sweeps):
        names = [str(each) for each in random.choice(FAMILIES, 2)]
        low, high = true_end(names[0], "low", random), true_end(names[1], "high", random)
        step = float(random.choice(STEPS))
        levels = read_sweep(low, high, step, random)
        fit: ResponseFit = fit_response(HERTZ, levels, max(step / 12**0.5, SMALLEST_STANDARD))
        hits = 0
        for side, name, true, found in (
            ("low", names[0], low, fit.low),
            ("high", names[1], high, fit.high),
        ):
            label = f"{name}, {side}"
            tally.seen[label] += 1
            hit = family_of(found) == name
            hits += hit
            tally.right[label] += hit
            if hit and true.corner_hertz is not None:
                tally.corners[label] += 1
                error = abs(found.corner_hertz - true.corner_hertz)
                tally.inside[label] += bool(error <= 2.0 * found.standard_corner_hertz)
        both += hits == 2
    return Tally(tally.seen, tally.right, tally.corners, tally.inside, both / sweeps)


def main() -> None:
    sweeps = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    tally = study(sweeps)
    print(f"{sweeps} sweeps of 12 points, read to 0.1, 0.25 or 0.5 dB\n")
    print(f"{'family':<20}{'ends':>6}{'found':>9}{'corner within k = 2':>22}")
    for label in sorted(tally.seen):
        corners = tally.corners[label]
        inside = f"{tally.inside[label] / corners:.1%}" if corners else "-"
        print(
            f"{label:<20}{tally.seen[label]:>6}"
            f"{tally.right[label] / tally.seen[label]:>9.1%}{inside:>22}"
        )
    print(f"{'all ends':<20}{tally.seen.total():>6}{tally.share_right():>9.1%}", end="")
    print(f"{tally.share_inside():>22.1%}")
    print(f"{'both ends right':<26}{tally.sweeps_right:>9.1%}")


if __name__ == "__main__":
    main()
