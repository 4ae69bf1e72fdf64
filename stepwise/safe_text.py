"""Text from people, made harmless. A leaf: every room may import it, it imports nothing of ours.

Names, remarks and readings come from keyboards, files and logs of strangers. What a form of
output would obey is made visible or put out of action here, once for all rooms.
"""

from __future__ import annotations

import re
import unicodedata

_OBEYED = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Categories of characters that move the cursor, change colours or turn a line round."""
_FORMULA = "=+-@＝＋－＠"
"""What makes a spreadsheet take a cell for a formula; also in the wide forms of East Asia."""
_NUMBER = r"[+-]?[0-9]+(?:[.,][0-9]+)?(?:[eE][+-]?[0-9]+)?"
_IS_NUMBER = re.compile(rf"{_NUMBER}\Z")
_FORMULA_INSIDE = re.compile(
    # A number that ends where its part ends is shown, not computed, wherever the text is parted.
    rf"(([;,|])\s*)(?!{_NUMBER}\s*(?:\2|\Z))(?=[{re.escape(_FORMULA)}])"
)


def is_obeyed(character: str) -> bool:
    """Whether a terminal or a reader's program may act on a character instead of showing it."""
    return not character.isprintable() and unicodedata.category(character) in _OBEYED


def plain(text: str) -> str:
    r"""The text on one line, control and direction characters made visible: \x1b, \u202e."""
    if text.isprintable():
        return text
    return "".join(_visible(character) for character in text)


def _visible(character: str) -> str:
    if character in "\n\t":
        return " "
    return ascii(character)[1:-1] if is_obeyed(character) else character


def csv_cell(text: str) -> str:
    """The text so that a spreadsheet shows it and computes nothing.

    What would open a formula gets an apostrophe before it, also behind a mark that another
    country's spreadsheet takes for the end of a cell. A plain number stays one, with a point or
    a comma. All else comes out as it was typed.

    Args:
        text: Any text; it comes out on one line.
    """
    safe = plain(text)
    if _IS_NUMBER.match(safe):
        return safe
    safe = _FORMULA_INSIDE.sub(r"\1'", safe)
    return f"'{safe}" if safe.lstrip().startswith(tuple(_FORMULA)) else safe
