"""Fitting a captured sine: its frequency, then mean and harmonics together by least squares."""

from __future__ import annotations

import math

import numpy as np

from stepwise.science.domain import FloatArray
from stepwise.science.least_squares import minimise

_SHARPENINGS = 6
_CLOSE_ENOUGH = 1e-6
"""Periods over the whole record by which a step of sharpening is too small to matter."""
_ORDERS_BESIDE = 15
"""Harmonics fitted while the frequency is: later ones are too weak to pull it."""


def fitted_cycles(samples: FloatArray) -> float:
    """Periods a sample: the strongest line of a windowed spectrum, then a sine fit."""
    centred = (samples - samples.mean()) * np.hanning(samples.size)
    spectrum = np.abs(np.fft.rfft(centred, 4 * samples.size))
    first = 4  # one period in the record; below it lies what the window makes of drift
    strongest = first + int(np.argmax(spectrum[first:]))
    place = np.arange(samples.size) - 0.5 * (samples.size - 1)
    start = strongest / (4.0 * samples.size)

    def model(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        a, b, mean, omega = parameters
        cosine, sine = np.cos(omega * place), np.sin(omega * place)
        by_omega = place * (b * cosine - a * sine)
        slopes = np.column_stack((cosine, sine, np.ones_like(place), by_omega))
        return samples - a * cosine - b * sine - mean, -slopes

    omega = 2.0 * math.pi * start
    design = np.column_stack((np.cos(omega * place), np.sin(omega * place), np.ones_like(place)))
    linear = _solved(design, samples)
    found = minimise(model, np.array([*linear, omega]))
    return float(found.parameters[3]) / (2.0 * math.pi)


def orders_below(cycles: float, highest: int, size: int) -> range:
    """Orders that lie half a line or more below half of the sampling frequency.

    Of the order at half of it, as in a record of an even number of samples a period, only one part
    is sampled; the other would come out as anything.
    """
    most = math.floor((0.5 - 0.5 / size) / cycles)
    return range(1, max(min(highest, most), 1) + 1)


def sharpened_cycles(samples: FloatArray, cycles: float) -> float:
    """Periods a sample, with the harmonics fitted beside: in few periods they pull a lone sine."""
    if cycles * samples.size < 1.0:
        return cycles
    place = np.arange(samples.size, dtype=np.float64)
    for _ in range(_SHARPENINGS):
        orders = orders_below(cycles, _ORDERS_BESIDE, samples.size)
        _, lines, residual = fitted_lines(samples, cycles, orders)
        weights = np.array([order * lines[order] for order in orders])
        design = _design(cycles * place, orders)
        # derivative of the fitted wave by the frequency, from the columns that are there
        slope = -place * (design[:, 1::2] @ weights.imag + design[:, 2::2] @ weights.real)
        # of which only what mean and lines cannot follow tells anything of the frequency
        shared = design.T @ slope
        alone = slope @ slope - shared @ np.linalg.solve(
            _gram(cycles, samples.size, orders), shared
        )
        change = float(slope @ residual / alone) / (2.0 * math.pi) if alone > 0.0 else 0.0
        # half a period over the record is as far as the linear step can be believed
        cycles += float(np.clip(change, -0.5 / samples.size, 0.5 / samples.size))
        if abs(change) * samples.size < _CLOSE_ENOUGH:
            break
    return cycles


def _solved(design: FloatArray, values: FloatArray) -> FloatArray:
    """Least squares by the normal equations.

    The columns are nearly orthogonal, so nothing is lost, and a long capture takes a
    fraction of the time that a singular value decomposition would.
    """
    scale = np.sqrt(np.sum(design**2, axis=0))
    scale[scale == 0.0] = 1.0
    columns = design / scale
    solution: FloatArray = np.linalg.solve(columns.T @ columns, columns.T @ values) / scale
    return solution


def _design(turns: FloatArray, orders: range) -> FloatArray:
    """Columns of a mean and of the cosine and sine of each order, from 1 up."""
    columns = np.empty((1 + 2 * len(orders), turns.size))
    columns[0] = 1.0
    first = np.exp(2j * math.pi * turns)
    wave = np.ones_like(first)
    for place in range(len(orders)):
        wave = wave * first  # a product takes a tenth of the time of a cosine
        columns[2 * place + 1], columns[2 * place + 2] = wave.real, wave.imag
    return columns.T


def _gram(cycles: float, size: int, orders: range) -> FloatArray:
    """Products of all columns of `_design` with one another, from the sum of a geometric series.

    Multiplying the columns out would take most of the time of an analysis.
    """
    count = len(orders)
    turn = np.exp(2j * math.pi * cycles * np.arange(2 * count + 1))
    is_one = np.abs(turn - 1.0) < 1e-12
    sums = np.where(is_one, size, (turn**size - 1.0) / np.where(is_one, 1.0, turn - 1.0))
    cosines, sines = sums.real, sums.imag
    row, column = np.meshgrid(np.arange(1, count + 1), np.arange(1, count + 1), indexing="ij")
    apart, together = np.abs(row - column), row + column
    gram = np.empty((2 * count + 1, 2 * count + 1))
    gram[0, 0] = size
    gram[0, 1::2] = gram[1::2, 0] = cosines[1 : count + 1]
    gram[0, 2::2] = gram[2::2, 0] = sines[1 : count + 1]
    gram[1::2, 1::2] = 0.5 * (cosines[apart] + cosines[together])
    gram[2::2, 2::2] = 0.5 * (cosines[apart] - cosines[together])
    mixed = 0.5 * (sines[together] + np.sign(column - row) * sines[apart])
    gram[1::2, 2::2], gram[2::2, 1::2] = mixed, mixed.T
    return gram


def fitted_lines(
    used: FloatArray, cycles: float, orders: range
) -> tuple[float, dict[int, complex], FloatArray]:
    """Mean, complex peak amplitude of each order, and what they leave."""
    design = _design(cycles * np.arange(used.size, dtype=np.float64), orders)
    found = np.linalg.solve(_gram(cycles, used.size, orders), design.T @ used)
    lines = {order: complex(found[2 * order - 1], -found[2 * order]) for order in orders}
    return float(found[0]), lines, used - design @ found
