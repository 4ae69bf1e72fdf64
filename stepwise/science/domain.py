"""What arguments the formulas of this room accept, said in one sentence when they do not.

A formula is called with nudged inputs to propagate uncertainty, so nothing here refuses a
value merely because it is near zero or slightly on the wrong side of it: only values for which
the formula has no meaning are refused.
"""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
"""A numpy array of double floats."""

Number = TypeVar("Number", float, NDArray[np.float64])
"""A float, or an array of floats: a function gives back the same kind as it was given."""


def positive(value: float, name: str) -> float:
    """Give back `value` as a plain float, or raise ValueError unless it is finite and > 0."""
    if not 0.0 < value < math.inf:
        raise ValueError(f"{name} must be a positive number, got {value!r}")
    return float(value)


def finite(value: float, name: str) -> float:
    """Give back `value` as a plain float, or raise ValueError if it is infinite or NaN."""
    if not math.isfinite(value):
        raise ValueError(f"{name} must be a finite number, got {value!r}")
    return float(value)


def not_negative(value: float, name: str) -> float:
    """Give back `value` as a plain float, or raise ValueError unless it is finite and >= 0."""
    if not 0.0 <= value < math.inf:
        raise ValueError(f"{name} must not be negative, got {value!r}")
    return float(value)


def positive_array(values: ArrayLike, name: str) -> FloatArray:
    """Give back `values` as floats, or raise ValueError unless each is finite and > 0."""
    array = np.asarray(values, dtype=np.float64)
    if not (np.isfinite(array).all() and (array > 0.0).all()):
        raise ValueError(f"{name} must be positive numbers, got {values!r}")
    return array


def shaped_like(given: Number, computed: ArrayLike) -> Number:
    """Give back `computed` as an array if `given` was one, else as a plain float."""
    if isinstance(given, np.ndarray):
        return np.asarray(computed, dtype=np.float64)
    return float(np.asarray(computed))
