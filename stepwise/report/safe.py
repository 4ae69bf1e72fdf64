"""Text from people, made harmless for a terminal."""

from __future__ import annotations

import unicodedata


def plain(text: str) -> str:
    """The text on one line, with control and direction characters made visible.

    A remark could otherwise move the cursor, change colours or turn a line round.
    """
    return "".join(_visible(character) for character in text)


def _visible(character: str) -> str:
    if unicodedata.category(character) not in ("Cc", "Cf", "Cs", "Zl", "Zp"):
        return character
    return " " if character in "\n\t" else f"<{ord(character):02x}>"
