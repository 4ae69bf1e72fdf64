"""Text from people, made harmless for Markdown."""

from __future__ import annotations

import re

from stepwise.safe_text import plain

_MARKDOWN_ACTIVE = re.compile(r"([\\`*_{}\[\]|~$!#])")
_OPENS_BLOCK = re.compile(r"^(?:[-+:](?=\s|-|$)|=(?=[=\s]|$))")
_OPENS_NUMBERED = re.compile(r"^([0-9]+)(?=[.)](?:\s|$))")
_OPENS_LINK = re.compile(r"(?<=:)(//)|(?<=www)(\.)|(@)", re.IGNORECASE)


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
