"""How often the stated intervals of a captured sine hold the truth.

    python -m tests.benchmarks.coverage_capture [CAPTURES]

CAPTURES seeded traces (default 50) of each kind: 8 and 10 bits, noise of 0 to 2 steps, in step with
the wave and not, 500 to 20,000 samples, 30 to 95 % of the screen; clipped by 1 to 20 %, or with
0.1 to 3 % of a second or third harmonic. The truth is drawn finely. Prints a table of the share
of intervals (k = 2) that hold it, and of the largest and mean width where steps are coarse; then
one of how many sines are said to be clipped, whole ones and ones cut by a few steps.
"""

from __future__ import annotations

import math
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from stepwise.science import analyse_sine

CAPTURES = 50
BITS = (8, 10)
NOISES = (0.0, 0.1, 0.25, 0.5, 2.0)
"""Over the step of the converter."""
NAMES = ("thd", "h2", "h3", "h5", "rms", "peak", "negative peak")

CUTS = (0.0, 0.25, 0.5, 1.0, 2.0)
"""Of either top, over the step of the converter; a whole sine has none."""

Shape = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class Kind:
    """What a group of captures has in common."""

    is_clipped: bool
    bits: int
    noise: float
    in_step: bool

    def __str__(self) -> str:
        wave = "clipped" if self.is_clipped else "harmonic"
        rate = "in step" if self.in_step else "free"
        return f"{wave:<8} {self.bits:>2} bits, noise {self.noise:<4} {rate:<7}"


KINDS = [
    Kind(is_clipped, bits, noise, in_step)
    for is_clipped in (True, False)
    for bits in BITS
    for noise in NOISES
    for in_step in (False, True)
]


def _shape(kind: Kind, random: np.random.Generator) -> Shape:
    if kind.is_clipped:
        drive = 1.0 / (1.0 - random.uniform(0.01, 0.2))
        lowest = -1.0 if random.random() < 0.7 else -np.inf
        return lambda angle: np.clip(drive * np.sin(angle), lowest, 1.0)
    share = 10.0 ** random.uniform(-3.0, math.log10(0.03))
    order, phase = random.integers(2, 4), random.uniform(0.0, 2.0 * np.pi)
    return lambda angle: np.sin(angle) + share * np.sin(order * angle + phase)


def _truth(shape: Shape) -> dict[str, float]:
    """Of the wave without converter, for one finely drawn period."""
    wave = shape((np.arange(1 << 15) + 0.5) * 2.0 * np.pi / (1 << 15))
    lines = np.abs(np.fft.rfft(wave))
    alternating = wave - wave.mean()
    shares = {f"h{order}": 100.0 * lines[order] / lines[1] for order in (2, 3, 5)}
    return {
        "thd": 100.0 * math.sqrt(float(np.sum(lines[2:] ** 2))) / lines[1],
        **shares,
        "rms": float(np.sqrt(np.mean(alternating**2))),
        "peak": float(wave.max()),
        "negative peak": -float(wave.min()),
    }


def _sampling(kind: Kind, random: np.random.Generator) -> tuple[int, np.ndarray]:
    """How many samples, and their places in periods."""
    samples = round(math.exp(random.uniform(math.log(500), math.log(20_000))))
    periods = random.uniform(2.1, min(20.0, samples / 40))
    if kind.in_step:
        periods = float(max(round(periods), 2))
        samples = int(periods) * max(round(samples / periods), 16)
    return samples, periods * np.arange(samples) / samples


def capture(kind: Kind, random: np.random.Generator) -> tuple[np.ndarray, dict[str, float]]:
    """A trace in steps of one, and its truth."""
    samples, turns = _sampling(kind, random)
    shape = _shape(kind, random)
    largest = float(np.abs(shape(np.linspace(0.0, 2.0 * np.pi, 2000))).max())
    size = random.uniform(0.3, 0.95) * 2 ** (kind.bits - 1) / largest
    angle = 2.0 * np.pi * turns + random.uniform(0.0, 2.0 * np.pi)
    offset = random.uniform(-0.5, 0.5)
    wave = size * shape(angle) + offset
    limit = 2 ** (kind.bits - 1)
    steps = np.round(wave + kind.noise * random.normal(size=samples))
    truth = {
        name: value * (size if name in ("rms", "peak", "negative peak") else 1.0)
        for name, value in _truth(shape).items()
    }
    truth["peak"] += offset
    truth["negative peak"] -= offset
    return np.clip(steps, -limit, limit - 1), truth


def intervals(kind: Kind, captures: int) -> Iterator[tuple[str, float, float]]:
    """Name, error and half width of every interval."""
    random = np.random.default_rng(
        [kind.is_clipped, kind.bits, round(100 * kind.noise), kind.in_step]
    )
    for _ in range(captures):
        volts, truth = capture(kind, random)
        found = analyse_sine(volts, 1e5)
        sure = found.standard
        stated = {
            "thd": (found.thd_percent, sure.thd_percent),
            "rms": (found.rms_volts, sure.rms_volts),
            "peak": (found.positive_peak_volts, sure.peak_volts),
            "negative peak": (found.negative_peak_volts, sure.peak_volts),
            **{f"h{h.order}": (h.percent, h.standard_percent) for h in found.harmonics},
        }
        for name in NAMES:
            if name in stated:
                value, standard = stated[name]
                yield name, value - truth[name], 2.0 * standard


def said_to_be_clipped(noise: float, cut: float, captures: int) -> Iterator[bool]:
    """Whether sines in steps of one, 8 bits, cut by so much at either top, are said to be."""
    random = np.random.default_rng([round(100 * noise), round(100 * cut)])
    for at in range(captures):
        kind = Kind(is_clipped=False, bits=8, noise=noise, in_step=at % 2 == 1)
        samples, turns = _sampling(kind, random)
        size = random.uniform(0.3, 0.95) * 2 ** (kind.bits - 1)
        wave = size * np.sin(2.0 * np.pi * (turns + random.uniform()))
        wave = np.clip(wave, cut - size, size - cut) + random.uniform(-0.5, 0.5)
        found = analyse_sine(np.round(wave + noise * random.normal(size=samples)), 1e5).clipping
        if found is not None:
            yield found.positive_volts is not None or found.negative_volts is not None


def main() -> None:
    captures = int(sys.argv[1]) if len(sys.argv) > 1 else CAPTURES
    all_held: dict[str, list[bool]] = defaultdict(list)
    print(f"{'':35}" + "".join(f"{name:>14}" for name in NAMES) + "   +- of thd, mean and largest")
    for kind in KINDS:
        held: dict[str, list[bool]] = defaultdict(list)
        widths = []
        for name, off, half in intervals(kind, captures):
            held[name].append(abs(off) <= half)
            if name == "thd":
                widths.append(half)
        for name, each in held.items():
            all_held[name] += each
        told = "".join(f"{100.0 * np.mean(held[name]):>12.1f} %" for name in NAMES)
        print(f"{kind!s:35}{told}   {np.mean(widths):.3f} {np.max(widths):.3f} %")
    print(f"{'all':35}" + "".join(f"{100.0 * np.mean(all_held[n]):>12.1f} %" for n in NAMES))
    print(f"\n{'said to be clipped, cut by [steps]':35}" + "".join(f"{cut:>14}" for cut in CUTS))
    for noise in NOISES:
        said = [list(said_to_be_clipped(noise, cut, 2 * captures)) for cut in CUTS]
        told = "".join(f"{sum(each):>8} / {len(each):<3}" for each in said)
        print(f"8 bits, noise {noise:<21}{told}")


if __name__ == "__main__":
    main()
