"""The lines of a captured sine as figures: harmonics, distortion, level, and how sure they are.

Noise and the steps of a converter add to the square of a line; what they add is taken off, and
their spread is the uncertainty.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stepwise.science.domain import FloatArray
from stepwise.science.sine_steps import StepErrors

_LAST = 4
"""Part of the lines that stands for those beyond."""
_LEAST = 1e-12
"""Share of the fundamental where arithmetic ends."""


@dataclass(frozen=True, slots=True)
class Harmonic:
    """One line of a table of harmonics."""

    order: int
    """1 for the fundamental."""
    hertz: float
    """Frequency [Hz]."""
    rms_volts: float
    """Amplitude, less what noise and steps add to it [V RMS]."""
    percent: float
    """Amplitude over that of the fundamental [%]."""
    phase_rad: float
    """Phase as a cosine about the crest of the fundamental [rad], -pi to pi."""
    standard_percent: float
    """Standard uncertainty of `percent` [%]."""


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Amplitudes, and what they may be off by."""

    values: NDArray[np.complex128]
    """Complex amplitudes of the orders from 1 up [V], shape (orders,)."""
    part_volts: float
    """Standard uncertainty of a real or imaginary part from the scatter of samples [V]."""
    steps: StepErrors

    def rms(self, noise_of_mean: float) -> tuple[float, float]:
        """Level of all lines and its standard uncertainty [V RMS].

        Args:
            noise_of_mean: What noise leaves of a mean of all samples [V RMS].
        """
        squares = np.abs(self.values) ** 2
        square = float(squares.sum())
        by_steps = self.steps.squares(self.values).sum(axis=0)
        rms = math.sqrt(max(0.5 * square, 0.0))
        off = float(np.sqrt(np.mean(by_steps**2))) / (4.0 * rms)
        return rms, math.hypot(noise_of_mean, off)

    def thd(self) -> tuple[float, float]:
        """Distortion over the fundamental and its standard uncertainty [%]."""
        fundamental = abs(self.values[0]) ** 2
        squares = np.abs(self.values[1:]) ** 2
        if squares.size == 0:
            return 0.0, 0.0
        part = self.part_volts
        by_steps = self.steps.squares(self.values)
        # what raises the fundamental lowers the share
        added = by_steps[1:].sum(axis=0) - by_steps[0] * squares.sum() / fundamental
        added_mean = float(added.mean())
        total = (float(np.sum(squares - 2.0 * part**2)) - added_mean) / fundamental
        # what sampling folds back falls on the last lines, and is about as large as they are
        last = squares[-max(squares.size // _LAST, 1) :] - 2.0 * part**2
        folded = max(float(last.sum()), 0.0)
        by_noise = float(np.sum(4.0 * squares * part**2 + 4.0 * part**4))
        spread = math.sqrt(by_noise + float(np.var(added)) + folded**2) / fundamental
        thd = math.sqrt(max(0.0, total))
        return 100.0 * thd, 100.0 * spread / (2.0 * max(thd, math.sqrt(spread) / 2.0, _LEAST))

    def table(self, hertz: float, highest_order: int) -> tuple[Harmonic, ...]:
        """The fundamental and what follows, up to an order.

        Args:
            hertz: Frequency of the fundamental [Hz].
            highest_order: Last order [1].
        """
        fundamental, crest = abs(self.values[0]), np.angle(self.values[0])
        by_steps: FloatArray = np.mean(np.abs(self.steps.lines) ** 2, axis=1)
        rows = []
        for order, line in enumerate(self.values.tolist()[:highest_order], start=1):
            added = 2.0 * self.part_volts**2 + float(by_steps[order - 1])
            size = abs(line) if order == 1 else math.sqrt(max(abs(line) ** 2 - added, 0.0))
            # in which direction steps push is not known, so all of it counts
            off = math.hypot(self.part_volts, math.sqrt(float(by_steps[order - 1])))
            rows.append(
                Harmonic(
                    order=order,
                    hertz=order * hertz,
                    rms_volts=size / math.sqrt(2.0),
                    percent=100.0 * size / fundamental,
                    phase_rad=float(np.angle(line * np.exp(-1j * order * crest))),
                    standard_percent=0.0 if order == 1 else 100.0 * off / fundamental,
                )
            )
        return tuple(rows)
