"""Title cards and plots at 1920x1080 on a transparent ground, to lay over moving pictures.

Every word stands on a plate that is dark enough to read it over anything, within the middle
nine tenths of the picture, which every screen shows.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from stepwise.judge import Grade, Judgement, Severity, Verdict
from stepwise.report.build import build_report
from stepwise.report.content import (
    VERDICT_GLYPHS,
    KeyFigure,
    PowerPlot,
    Report,
    ResponsePlot,
    grade_glyph,
)
from stepwise.report.content import (
    Figure as FigureBlock,
)
from stepwise.report.plot_look import Look, drawing, fit, shown
from stepwise.report.svg import svg_bytes
from stepwise.run import RunView

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_WIDTH, _HEIGHT, _DPI = 1920, 1080, 100
_MARGIN_X, _MARGIN_Y = 0.05 * _WIDTH, 0.05 * _HEIGHT
_INSET = 44.0
"""Between the edge of a plate and its words [pixel]."""
_PLOT_INSET = 0.055
"""Between the edge of the picture and the words of a plot, share of the width."""
_STRIPE = 12.0
"""The stripe that tells the verdict beside its word [pixel]."""
_ASCENT, _DESCENT, _BETWEEN = 0.76, 0.24, 30.0
"""Of a line, in shares of its size; and the air between two lines [pixel]."""
_POINT = 72.0 / _DPI
"""Points for a pixel."""

_PLATE, _PLATE_ALPHA = "#0c1013", 0.86
_INK, _FAINT = "#f6f3ea", "#c3c8cb"
_COLOURS: Mapping[Grade, str] = MappingProxyType(
    {
        Verdict.IN_SPEC: "#8edb8e",
        Verdict.OUT_OF_SPEC: "#ff9184",
        Verdict.TOO_CLOSE: "#f6cb5f",
        Verdict.NOTED: "#c3c8cb",
        Verdict.SKIPPED: "#c3c8cb",
        Severity.STOP: "#ff9184",
        Severity.WRONG: "#ff9184",
    }
)
_LOOK = Look(
    width=_WIDTH / _DPI, height=_HEIGHT / _DPI, font=25.0, line=3.6, dot=12.0,
    ink=_INK, faint=_FAINT, grid="#3a434a", paper=_PLATE, model="#74cbe8", limit="#f5b06a",
    band="#2d2a22", text_as_paths=True,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Picture:
    """One file."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class _Words:
    """One line of a card."""

    text: str
    size: float
    """[pixel]"""
    colour: str = _INK
    weight: str = "normal"


def pictures(view: RunView) -> Iterator[Picture]:
    """Each card and plot as PNG and as SVG.

    Args:
        view: A log as it was read.
    """
    report = build_report(view)
    yield from _both("01-title", _title(report))
    number = 2
    for key in report.keys:
        yield from _both(f"{number:02d}-{_stem(key.label)}", _key(key))
        number += 1
    for block in (block for section in report.sections for block in section.blocks):
        if isinstance(block, FigureBlock):
            stem = "response" if isinstance(block.plot, ResponsePlot) else "power"
            yield from _both(f"{number:02d}-{stem}", _plot(report.unit, block.plot))
            number += 1


def _stem(label: str) -> str:
    plain_label = label.lower().replace("Ω".lower(), "ohm")
    kept = "".join(each if each.isascii() and each.isalnum() else " " for each in plain_label)
    return "-".join(kept.split())


def _both(name: str, figure: Figure) -> Iterator[Picture]:
    with drawing(_LOOK):
        held = io.BytesIO()
        figure.savefig(held, format="png", dpi=_DPI, transparent=True, metadata={"Software": None})
        yield Picture(f"{name}.png", held.getvalue())
        yield Picture(f"{name}.svg", svg_bytes(figure, name))


def _title(report: Report) -> Figure:
    whole = report.conclusion
    lines = [
        _Words(report.unit, 118.0, weight="bold"),
        _Words(report.title, 44.0, _FAINT),
        _Words(
            f"{grade_glyph(whole.grade)} {whole.words.capitalize()}",
            62.0, _COLOURS[whole.grade], "bold",
        ),
    ]  # fmt: skip
    return _card(lines, _COLOURS[whole.grade])


def _key(key: KeyFigure) -> Figure:
    judgement = key.judgement or Judgement(Verdict.NOTED)
    colour = _COLOURS[judgement.verdict]
    lines = [_Words(key.label, 46.0, _FAINT), _Words(key.figure, 128.0, weight="bold")]
    words = key.note
    if judgement.limit is not None:
        glyph = VERDICT_GLYPHS[judgement.verdict]
        words = " · ".join(part for part in (f"{glyph} {judgement.words}", key.note) if part)
    if words:
        lines.append(_Words(words, 46.0, colour))
    return _card(lines, colour)


def _card(lines: list[_Words], colour: str) -> Figure:
    """Lines on a plate at the lower left, as wide as the longest of them."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.patches import Rectangle

    with drawing(_LOOK):
        figure = Figure(figsize=(_WIDTH / _DPI, _HEIGHT / _DPI), dpi=_DPI, facecolor="none")
        FigureCanvasAgg(figure)  # which measures the words
        room = _WIDTH - 2.0 * (_MARGIN_X + _INSET) - _STRIPE
        left, base, widest = _MARGIN_X + _STRIPE + _INSET, _MARGIN_Y + _INSET, 0.0
        sizes = [0.0, *(words.size for words in lines[:-1])]
        for words, above in zip(reversed(lines), reversed(sizes), strict=True):
            text = figure.text(
                left / _WIDTH, base / _HEIGHT, shown(words.text), size=words.size * _POINT,
                color=words.colour, weight=words.weight, va="baseline", ha="left", zorder=3,
            )  # fmt: skip
            widest = max(widest, fit(text, room))
            base += words.size * _ASCENT + _BETWEEN + above * _DESCENT
        height = base - _BETWEEN + _INSET - _MARGIN_Y
        for x, wide, filled, alpha in (
            (_MARGIN_X, _STRIPE, colour, 1.0),
            (_MARGIN_X + _STRIPE, widest + 2.0 * _INSET, _PLATE, _PLATE_ALPHA),
        ):
            figure.add_artist(
                Rectangle(
                    (x / _WIDTH, _MARGIN_Y / _HEIGHT),
                    wide / _WIDTH,
                    height / _HEIGHT,
                    facecolor=filled,
                    alpha=alpha,
                    linewidth=0.0,
                    zorder=1,
                    transform=figure.transFigure,
                )
            )
        return figure


def _plot(unit: str, plot: ResponsePlot | PowerPlot) -> Figure:
    """A plot on a plate that fills the picture within its margins."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.patches import Rectangle

    from stepwise.report.plot_power import power_figure
    from stepwise.report.plot_response import response_figure

    with drawing(_LOOK):
        if isinstance(plot, ResponsePlot):
            figure, title = response_figure(plot, _LOOK), "Frequency response"
        else:
            figure, title = power_figure(plot, _LOOK), "Power into each load"
        figure.set_dpi(_DPI)
        FigureCanvasAgg(figure)
        left = figure.subplotpars.left + _PLOT_INSET
        figure.subplots_adjust(left=left, right=0.91, top=0.79, bottom=0.16)
        figure.add_artist(
            Rectangle(
                (0.05, 0.05),
                0.9,
                0.9,
                facecolor=_PLATE,
                alpha=_PLATE_ALPHA,
                linewidth=0.0,
                zorder=-1,
                transform=figure.transFigure,
            )
        )
        name = figure.text(0.08, 0.86, shown(unit), size=46 * _POINT, weight="bold", color=_INK)
        fit(name, 0.5 * _WIDTH)
        figure.text(0.91, 0.86, title, size=38 * _POINT, color=_FAINT, ha="right")
        return figure
