"""From the form that was typed to the form that is kept: of a sine, and of no other wave."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

from stepwise.errors import NotationError
from stepwise.quantities.expected import Form

_OF_PEAK: Mapping[Form, float] = MappingProxyType(
    {Form.RMS: 1.0 / math.sqrt(2.0), Form.PEAK: 1.0, Form.PEAK_TO_PEAK: 2.0}
)
"""What a sine of peak 1 is in each form."""

ALTERNATING = frozenset(_OF_PEAK)
"""Forms of an alternating quantity, which has no sign."""


class NoSineError(NotationError):
    """Peaks of a wave that is no sine: they do not tell its RMS, and no number stands for it."""

    def __init__(self, text: str, typed: Form, kept: Form) -> None:
        reason = (
            f"the tops are flattened here, so {typed} does not tell the {kept}:"
            f" read {kept} on the meter"
        )
        super().__init__(text, reason)


def form_factor(typed: Form | None, kept: Form, *, is_sine: bool = True) -> tuple[Form, float]:
    """Form in which something was typed, and what turns it into the kept one.

    Args:
        typed: The form typed, None where there was none.
        kept: The form that the prompt keeps.
        is_sine: The wave is a sine, so that one form tells the others.

    Returns:
        The typed form, and the factor [1], for a sine where the forms differ.

    Raises:
        NoSineError: The forms differ, and the wave is no sine.
        NotationError: One of the two is DC, or says nothing of the form; no factor exists.
    """
    if typed is None or typed is kept:
        return kept, 1.0
    if typed in _OF_PEAK and kept in _OF_PEAK:
        if not is_sine:
            raise NoSineError(str(typed), typed, kept)
        return typed, _OF_PEAK[kept] / _OF_PEAK[typed]
    if kept is Form.PLAIN and typed in (Form.RMS, Form.DC):
        return typed, 1.0
    wanted = f"{kept} is" if kept else "no form such as RMS or peak is"
    raise NotationError(str(typed), f"{typed} is typed where {wanted} expected")
