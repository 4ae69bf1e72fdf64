"""What was meant, in bench notation: what was typed with the least change, or a plain figure."""

from __future__ import annotations

import re
from collections.abc import Iterator

from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.candidate import Candidate
from stepwise.quantities import Answer, Understood, format_value, parse_entry

_NEARLY = 0.006
"""A figure that was rounded to be typed may miss the value by this share."""
_UNIT_AT_END = re.compile(r"\s*(?P<unit>[mkµu]?V)?\s*\Z")
_FORMS = {"peak-to-peak": "pp", "peak": "pk"}
_LEVEL_NEARLY = 0.06
"""[dB]"""


def meant_text(
    asked: Asked, understood: Understood, candidate: Candidate
) -> tuple[str, Understood] | None:
    """A text that is understood as what was meant, and what it is understood as.

    Args:
        asked: The prompt; its own notation decides.
        understood: What was typed.
        candidate: What was probably meant.

    Returns:
        None where no text gives that value at this prompt.
    """
    for text in _texts(asked, understood, candidate):
        entry = parse_entry(text, asked.expected)
        if isinstance(entry, Understood) and _is_same(entry, candidate):
            return text, entry
    return None


def _is_same(entry: Understood, candidate: Candidate) -> bool:
    apart = abs(entry.value - candidate.value)
    if entry.unit == "dB":
        return apart <= _LEVEL_NEARLY
    return apart <= _NEARLY * abs(candidate.value)


def _texts(asked: Asked, understood: Understood, candidate: Candidate) -> Iterator[str]:
    typed = understood.typed.strip()
    if candidate.kept_typed and typed != "=":
        yield from _mended(typed, understood, candidate)
    if candidate.volts is not None:
        yield format_value(candidate.volts, "V", digits=3)
    if asked.expected.answer is Answer.LEVEL:
        yield f"{candidate.value:.3g} dB"
        return
    yield format_value(candidate.value, understood.unit)


def _mended(typed: str, understood: Understood, candidate: Candidate) -> Iterator[str]:
    if candidate.slip in _FORMS:
        unit = _UNIT_AT_END.search(typed)
        if unit is not None:
            yield f"{typed[: unit.start()]} {unit['unit'] or 'V'}{_FORMS[candidate.slip]}"
    elif candidate.slip == "sign":
        yield typed[1:].lstrip() if typed[:1] in "-−–" else f"-{typed}"
    elif candidate.slip == "multiplier" and understood.multiplier == 1.0:
        yield f"{typed} x10"
        yield f"{typed} x100"
    elif candidate.slip == "kilo" and typed[-1:].isdigit():
        # The digits stand, only their unit was another one.
        yield f"{typed} m{understood.unit}"
        yield f"{typed} {understood.unit}"
