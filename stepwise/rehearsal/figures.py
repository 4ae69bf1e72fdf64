"""How people and displays write the numbers that an instrument shows."""

from __future__ import annotations

import math


def to_step(value: float, step: float) -> float:
    """The nearest mark, `step` apart."""
    return round(value / step) * step + 0.0


def pointer_number(value: float, step: float) -> str:
    """As people write it: the decimals that the step needs, one at least, no idle zeros."""
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    # 0.025 needs one decimal more than its size tells, 0.0833 does not: nobody writes 0.0833.
    if abs(round(step, decimals) - step) > 1e-9 and _is_round(step, decimals + 1):
        decimals += 1
    text = f"{value:.{decimals}f}"
    if "." in text:
        whole, _, part = text.partition(".")
        text = f"{whole}.{part.rstrip('0') or '0'}"
    return "0" if float(text) == 0.0 else text


def _is_round(step: float, decimals: int) -> bool:
    return abs(round(step, decimals) - step) < 1e-9


def fixed_number(value: float, step: float) -> str:
    """As a display shows it: all its decimals, zeros too."""
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"{value + 0.0:.{decimals}f}"


def significant_number(value: float, digits: int) -> str:
    """Rounded to so many figures, without an exponent."""
    if value == 0.0:
        return "0"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, decimals):.{max(0, decimals)}f}"


def one_two_five(least: float) -> float:
    """The next setting of a 1-2-5 switch at or above a value."""
    if least <= 0.0:
        return 1.0
    decade = 10.0 ** math.floor(math.log10(least))
    return next(factor * decade for factor in (1.0, 2.0, 5.0, 10.0) if factor * decade >= least)
