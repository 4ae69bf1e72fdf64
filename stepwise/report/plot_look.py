"""How plots look, on a page and as pictures, and what all of them share."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from warnings import catch_warnings, filterwarnings

from stepwise.report.svg import BAND, FAINT, GRID, INK, LIMIT, MODEL, PAPER
from stepwise.safe_text import plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

_SHORT = 22
"""Characters of a short name."""


@dataclass(frozen=True, slots=True)
class Look:
    """Colours and sizes of a plot; a page and a picture differ in nothing else."""

    width: float
    """[inch]"""
    font: float
    """[point]"""
    line: float
    """[point]"""
    dot: float
    """[point]"""
    ink: str = INK
    faint: str = FAINT
    grid: str = GRID
    paper: str = PAPER
    model: str = MODEL
    limit: str = LIMIT
    band: str = BAND
    height: float | None = None
    """[inch]; None lets the number of panels decide."""
    text_as_paths: bool = False
    """For files that are shown where the fonts are not known."""


PAGE = Look(width=7.2, font=8.5, line=1.3, dot=4.2)


@contextmanager
def drawing(look: Look) -> Iterator[None]:
    """The settings within which a figure is drawn and printed."""
    from matplotlib import rc_context

    settings: Any = {
        "svg.fonttype": "path" if look.text_as_paths else "none",
        "font.family": "sans-serif",
        "font.sans-serif": ["DejaVu Sans"],
        "font.size": look.font,
        "axes.linewidth": look.line * 0.6,
        "axes.edgecolor": look.faint,
        "text.color": look.ink,
        "text.parse_math": False,  # a channel may be called what it likes
        "path.simplify": False,
    }
    with rc_context(settings), catch_warnings():
        # A page brings its own font, and a picture shows a box for what its font lacks.
        filterwarnings("ignore", message="Glyph .* missing from")
        yield


def shown(text: str) -> str:
    """Words in a plot: nothing that steers a terminal, and a true minus before a number."""
    return re.sub(r"(?<!\S)-(?=[0-9])", "\u2212", plain(text))


def short(text: str) -> str:
    """Words for which a plot has little room; the tables have them whole."""
    whole = shown(text)
    return whole if len(whole) <= _SHORT else f"{whole[: _SHORT - 1]}…"


def fit(text: Text, pixels: float) -> float:
    """Make words smaller until they have room; gives their width [pixel].

    Args:
        text: In a figure whose canvas can measure it.
        pixels: The room there is.
    """
    width = text.get_window_extent().width
    if width > pixels:
        text.set_fontsize(float(text.get_fontsize()) * pixels / width)
        width = pixels
    return width


def prepare(at: Axes, look: Look) -> None:
    """The bare frame: no box, a quiet grid, no tick marks."""
    at.set_facecolor("none")
    for side in ("top", "right"):
        at.spines[side].set_visible(False)
    at.tick_params(which="both", colors=look.faint, length=0, pad=4)
    at.grid(visible=True, which="major", color=look.grid, linewidth=look.line * 0.5)
    at.set_axisbelow(True)


def set_margins(
    figure: Figure, look: Look, *, left: float, right: float, top: float, bottom: float
) -> None:
    """Margins that grow with the type [inch at 8.5 point]."""
    grow = look.font / 8.5
    width, height = figure.get_size_inches()
    figure.subplots_adjust(
        left=left * grow / width,
        right=1.0 - right * grow / width,
        top=1.0 - top * grow / height,
        bottom=bottom * grow / height,
    )
