"""Text from people, made harmless for each of the forms that a log is given out in."""

from __future__ import annotations

import re

from stepwise.report.safe import plain

_MARKDOWN_ACTIVE = re.compile(r"([\\`*_{}\[\]|~$!#])")
_OPENS_BLOCK = re.compile(r"^(?:[-+:](?=\s|-|$)|=(?=[=\s]|$))")
_OPENS_NUMBERED = re.compile(r"^([0-9]+)(?=[.)](?:\s|$))")
_OPENS_LINK = re.compile(r"(?<=:)(//)|(?<=www)(\.)|(@)", re.IGNORECASE)
_FORMULA = "=+-@＝＋－＠"
"""What makes a spreadsheet take a cell for a formula; also in the wide forms of East Asia."""
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?\Z")
_FORMULA_INSIDE = re.compile(rf"([;,\t|]\s*)(?=[{_FORMULA}])")


def markdown_text(text: str) -> str:
    """The text so that every Markdown reader shows it and none obeys it.

    Marks of Markdown get a backslash, `<`, `>` and `&` stand as entities, so that neither HTML
    nor links come of it; control and direction characters are made visible.

    Args:
        text: Any text; it comes out on one line.
    """
    safe = plain(text).strip().replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    safe = _MARKDOWN_ACTIVE.sub(r"\\\1", safe)
    safe = _OPENS_LINK.sub(lambda found: f"\\{found[0]}", safe)
    safe = _OPENS_BLOCK.sub(lambda found: f"\\{found[0]}", safe)
    return _OPENS_NUMBERED.sub(r"\1\\", safe)


def csv_cell(text: str) -> str:
    """The text so that a spreadsheet shows it and computes nothing.

    What would open a formula gets an apostrophe before it, also behind a mark that another
    country's spreadsheet takes for the end of a cell. A plain number stays one.

    Args:
        text: Any text; it comes out on one line.
    """
    safe = plain(text)
    if _NUMBER.match(safe):
        return safe
    safe = _FORMULA_INSIDE.sub(r"\1'", safe)
    return f"'{safe}" if safe.lstrip().startswith(tuple(_FORMULA)) else safe
