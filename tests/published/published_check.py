"""One published value beside what this program computes for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

SIX_DIGITS = 6e-6
"""Relative; a figure given with six significant digits is good to half of the last one."""


@dataclass(frozen=True, slots=True)
class Check:
    """A value, where it stands, and how to compute it here."""

    subject: str
    """What is checked, in words, with the inputs."""
    source: str
    """Where the expected value comes from; "from memory" where the text was not at hand."""
    expected: float
    """The value as printed there, in the unit that `subject` names."""
    computed: Callable[[], float]
    """Asks the program for the same value, in the same unit."""
    within: float
    """Largest difference that the digits of the source allow, same unit."""


def given(
    subject: str,
    source: str,
    expected: float,
    computed: Callable[[], float],
    within: float = 0.0,
) -> Check:
    """A check whose tolerance is half of the sixth digit unless the source has fewer."""
    return Check(subject, source, expected, computed, within or SIX_DIGITS * abs(expected))
