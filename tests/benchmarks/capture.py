"""What a capture costs: analysing a million samples, and reading them beside numpy.loadtxt.

    OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.capture [FOLDER] [--samples N]

FOLDER (default: the system's folder for temporary files) takes the CSV files. Times are of the
processor, the best of several, so that what else the machine does counts little. Prints,
asserts nothing.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy import signal

from stepwise.captures import read_capture
from stepwise.science import analyse_sine, analyse_square

SAMPLES = 1_000_000
REPEATS = 5
GOAL_MS = 150.0


def milliseconds(act: Callable[[], object]) -> float:
    best = float("inf")
    for _ in range(REPEATS):
        start = time.process_time()
        act()
        best = min(best, 1000.0 * (time.process_time() - start))
    return best


def square(period: float, samples: int) -> np.ndarray:
    """Ringing edges, tilted tops, 1 % of noise, steps of 8 bits."""
    wave = np.where((np.arange(samples) / period + 0.3) % 1.0 < 0.5, 1.0, -1.0)
    omega = 1.3 * 60.0 / period
    low_pass = signal.cont2discrete(([omega**2], [1.0, 0.4 * omega, omega**2]), 1.0)
    wave = signal.lfilter(low_pass[0].ravel(), low_pass[1], wave)
    pole = np.exp(-2.0 * np.pi * 0.05 / period)
    wave = wave - signal.lfilter([0.0, 1.0 - pole], [1.0, -pole], wave)
    return stepped(wave)


def sine(period: float, samples: int) -> np.ndarray:
    """Clipped at 1.2 times its onset, 1 % of noise, steps of 8 bits."""
    return stepped(np.clip(1.2 * np.sin(2.0 * np.pi * np.arange(samples) / period), -1.0, 1.0))


def stepped(wave: np.ndarray) -> np.ndarray:
    noisy = wave + np.random.default_rng(1).normal(0.0, 0.02, wave.size)
    return np.round(noisy / 0.013) * 0.013


def analyses(samples: int) -> None:
    print(f"analysis of {samples:,} samples (goal for a million {GOAL_MS:.0f} ms)")
    for period in (0.33 * samples, 0.01 * samples, 400.0, 40.0):
        volts = square(period, samples)
        taken = milliseconds(lambda volts=volts: analyse_square(volts, 1e6))
        print(f"  square, {period:>9,.0f} samples a period {taken:8.1f} ms   {taken / GOAL_MS:.2f}")
    for period in (0.2 * samples, 0.005 * samples, 100.0, 10.3):
        volts = sine(period, samples)
        taken = milliseconds(lambda volts=volts: analyse_sine(volts, 1e6))
        print(f"  sine,   {period:>9,.1f} samples a period {taken:8.1f} ms   {taken / GOAL_MS:.2f}")


def reading(folder: Path, samples: int) -> None:
    volts, times = sine(5_000.0, samples), np.arange(samples) * 1e-7
    shapes = {
        "commas, exponents": (",", lambda t, v: f"{t:.7e},{v:.4f}\n"),
        "tabs, fixed": ("\t", lambda t, v: f"{t:.7f}\t{v:.3f}\n"),
        "semicolons, decimal commas": (";", lambda t, v: f"{t:.7f};{v:.3f}\n".replace(".", ",")),
    }
    print(f"reading {samples:,} rows, over numpy.loadtxt on the same rows")
    for name, (delimiter, row) in shapes.items():
        path = folder / "capture.csv"
        text = "".join(row(t, v) for t, v in zip(times.tolist(), volts.tolist(), strict=True))
        path.write_text(text)
        plain = folder / "plain.csv"
        plain.write_text(text.replace(",", ".") if delimiter == ";" else text)
        ours = milliseconds(lambda path=path: read_capture(path))
        theirs = milliseconds(
            lambda plain=plain, delimiter=delimiter: np.loadtxt(plain, delimiter=delimiter)
        )
        print(f"  {name:<27} {ours:7.0f} ms   loadtxt {theirs:6.0f} ms   {ours / theirs:.2f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?")
    parser.add_argument("--samples", type=int, default=SAMPLES)
    options = parser.parse_args()
    analyses(options.samples)
    with tempfile.TemporaryDirectory(dir=options.folder) as made:
        reading(Path(made), options.samples)


if __name__ == "__main__":
    main()
