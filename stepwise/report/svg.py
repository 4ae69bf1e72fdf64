"""A figure of matplotlib as SVG: the same bytes each time, fit to stand inside a page."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK, FAINT, GRID, PAPER = "#010101", "#020202", "#030303", "#040404"
MODEL, LIMIT, BAND, SECOND = "#050505", "#060606", "#070707", "#080808"
"""Stand-ins while drawing; a page gives each its colour in light and in dark."""

_VARIABLES: Mapping[str, str] = MappingProxyType(
    {
        INK: "ink",
        FAINT: "faint",
        GRID: "grid",
        PAPER: "paper",
        MODEL: "model",
        LIMIT: "limit",
        BAND: "band",
        SECOND: "second",
    }
)
_COLOUR = re.compile(rf"((?:fill|stroke): )({'|'.join(_VARIABLES)})\b")
_ID = re.compile(r'\bid="([^"]+)"')
_REFERENCE = re.compile(r'(url\(#|href="#)([^)"]+)')
_FONT = re.compile(r"font(?:-family)?: [^;\"]*'[^;\"]*;? ?")
_SIZE = re.compile(r"(?:font: |font-size: )([0-9.]+)px[^;\"]*;? ?")
_NOT_IN_A_PAGE = re.compile(r"<metadata>.*?</metadata>|<style.*?</style>", re.DOTALL)


def svg_bytes(figure: Figure, salt: str) -> bytes:
    """The figure as a whole SVG file, without date and without chance.

    Args:
        figure: Drawn and printed within `drawing(look)`.
        salt: Makes ids differ from those of other figures.
    """
    from matplotlib import rc_context

    held = io.BytesIO()
    with rc_context({"svg.hashsalt": salt}):
        figure.savefig(held, format="svg", metadata={"Date": None, "Creator": None})
    return held.getvalue()


def inline_svg(figure: Figure, name: str, title: str, described: str) -> str:
    """The figure as an element of a page, its colours left to the page.

    Args:
        figure: Drawn in the stand-in colours.
        name: Unique on the page; every id in the figure begins with it.
        title: What it is, already escaped for HTML.
        described: What it shows, already escaped for HTML.
    """
    text = svg_bytes(figure, name).decode("utf-8")
    opening = text.index("<svg")
    text = _NOT_IN_A_PAGE.sub("", text[opening:])
    text = _ID.sub(lambda found: f'id="{name}-{found[1]}"', text)
    text = _REFERENCE.sub(lambda found: f"{found[1]}{name}-{found[2]}", text)
    text = _COLOUR.sub(lambda found: f"{found[1]}var(--{_VARIABLES[found[2]]})", text)
    text = re.sub(r'<text style="([^"]*)"', _page_font, text)
    head, body = text.split(">", 1)
    box = re.search(r'viewBox="[^"]*"', head)
    words = f'<desc id="{name}-desc">{described}</desc>'
    shape = box[0] if box else ""
    return (
        f'<svg class="plot" role="img" {shape} xmlns="http://www.w3.org/2000/svg" '
        f'xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'aria-label="{title}" aria-describedby="{name}-desc">{words}{body}'
    ).strip()


def _page_font(found: re.Match[str]) -> str:
    """The page's own font at the figure's size."""
    style = found[1]
    size = _SIZE.search(style)
    kept = _FONT.sub("", style) if size is None else _SIZE.sub("", style)
    kept = _FONT.sub("", kept).strip()
    points = f"font-size: {size[1]}px; " if size else ""
    return f'<text style="{points}{kept}"'
