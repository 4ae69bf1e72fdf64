"""Text from people, made harmless for a terminal."""

from __future__ import annotations

import unicodedata

_UNSHOWN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
r"""Categories of characters that could move the cursor, change colours or turn a line round.
They are shown as in a Python string: \x1b, \u202e."""


def plain(text: str) -> str:
    """The text on one line, control and direction characters made visible."""
    if text.isprintable():
        return text
    return "".join(_visible(character) for character in text)


def _visible(character: str) -> str:
    if character in "\n\t":
        return " "
    if unicodedata.category(character) in _UNSHOWN:
        return ascii(character)[1:-1]
    return character
