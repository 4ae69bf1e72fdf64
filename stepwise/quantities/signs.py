"""How plain spellings stand before people: "8 ohm" as "8 Ω", a place on one line."""

from __future__ import annotations


def with_signs(text: str | None) -> str:
    """A text of ours as people read it: "8 ohm" -> "8 Ω"; empty for none.

    Args:
        text: The label of a load, or words that name one; plain spelling, as it is kept.
    """
    return text.replace("ohm", "Ω") if text else ""


def dotted(*parts: str | None) -> str:
    """The parts that are there, on one line: "left · 8 Ω".

    Args:
        parts: Words; None or empty for what does not belong to the place.
    """
    return " · ".join(part for part in parts if part)
