"""The live picture of a sweep: decade grid, limit band, model, readings, corners, numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from textual.strip import Strip

from stepwise.quantities import format_number, format_value
from stepwise.run import Curve
from stepwise.tui.widgets.axes import Axes, axes_for
from stepwise.tui.widgets.braille import Canvas
from stepwise.tui.widgets.picture import Picture
from stepwise.tui.words import MARK_WORDS

_LEFT = 6
"""Cells for the numbers of the level axis."""
_SHOWN_MARKS = ("minus_3db_low", "corner_low", "corner_high", "minus_3db_high")
_READ = "●"
_OUT_OF_LINE = "×"
"""Drawn for a reading that does not belong to the row."""
_LEAST = (_LEFT + 20, 5)


class CurvePlot(Picture):
    """Draws what it is given; the readings stand in the ledger as well."""

    def __init__(self) -> None:
        super().__init__("curve")
        self._curve: Curve | None = None
        self._over: tuple[tuple[Curve, str], ...] = ()
        """Curves that lie over the first, each with the letter that draws it."""

    def show(self, curve: Curve | None) -> None:
        """Draw a sweep as far as it is read; None clears the picture."""
        self._curve, self._over = curve, ()
        self.draw_again()

    def show_over_one_another(self, curves: Sequence[Curve], letters: Sequence[str]) -> None:
        """Draw the same sweep of several runs, each with a letter for its readings."""
        self._curve = joined(curves)
        self._over = tuple(zip(curves, letters, strict=True))
        self.draw_again()

    def draw(self) -> list[Strip]:
        """Grid, limits, models, readings, marks, labels."""
        width, height = self.size
        if self._curve is None or width < _LEAST[0] or height < _LEAST[1]:
            return []
        canvas = Canvas(width - _LEFT, height - 2)
        axes = axes_for(self._curve, canvas.dots_across, canvas.dots_down)
        _draw_grid(canvas, axes)
        _draw_limits(canvas, axes, self._curve)
        drawn: dict[tuple[int, int], str] = {}
        for curve, letter in self._over or ((self._curve, _READ),):
            _draw_model(canvas, axes, curve)
            _draw_readings(canvas, axes, curve, letter, drawn)
        _draw_marks(canvas, axes, self._curve)
        labels = level_labels(axes, canvas.height)
        rows = [
            self.strip([(labels.get(y, "").rjust(_LEFT - 1) + " ", "axis"), *canvas.row(y)])
            for y in range(canvas.height)
        ]
        rows.append(self.strip([(_frequency_labels(axes, canvas.width), "axis")]))
        said = "" if self._over else numbers(self._curve, canvas.width)
        rows.append(self.strip([(" " * _LEFT + said, "mark")]))
        return rows


def joined(curves: Sequence[Curve]) -> Curve | None:
    """One curve whose axes hold all of them; its band and limits are the first one's."""
    if not curves:
        return None
    first = curves[0]
    return replace(
        first,
        frequencies=tuple(hertz for each in curves for hertz in each.frequencies),
        levels_db=tuple(level for each in curves for level in each.levels_db),
        planned=tuple(sorted({hertz for each in curves for hertz in each.planned})),
        marks={},
        model=(),
    )


def numbers(curve: Curve, width: int) -> str:
    """The corners found, in words: the picture alone is never the message.

    Args:
        curve: The sweep so far.
        width: Cells across; what has no room is left out whole, the count first.
    """
    found = [
        f"{MARK_WORDS[name]} {format_value(curve.marks[name], 'Hz', digits=3)}"
        for name in _SHOWN_MARKS
        if name in curve.marks
    ]
    count = f"{len(curve.frequencies)} of {len(curve.planned)} read"
    if curve.outliers:
        found.insert(0, f"{_OUT_OF_LINE} out of line")
    parts = [count, *found]
    while len(parts) > 1 and len(" · ".join(parts)) > width:
        parts.pop(0 if parts[0] == count else -1)
    return " · ".join(parts)


def _draw_grid(canvas: Canvas, axes: Axes) -> None:
    for hertz, is_decade in axes.decades():
        for y in range(0, canvas.dots_down, 2 if is_decade else 4):
            canvas.dot(axes.x(hertz), y, "grid")
    for level in axes.levels():
        for x in range(0, canvas.dots_across, 4):
            canvas.dot(x, axes.y(level), "grid")


def _draw_limits(canvas: Canvas, axes: Axes, curve: Curve) -> None:
    if curve.band is None:
        return
    left, right = axes.x(curve.band[0]), axes.x(curve.band[1])
    for edge in (curve.low_db, curve.high_db):
        if edge is not None:
            canvas.line((left, axes.y(edge)), (right, axes.y(edge)), "limit")


def _draw_model(canvas: Canvas, axes: Axes, curve: Curve) -> None:
    places = [(axes.x(hertz), axes.y(level)) for hertz, level in curve.model]
    for start, end in pairwise(places):
        canvas.line(start, end, "model")


def _draw_readings(
    canvas: Canvas, axes: Axes, curve: Curve, sign: str, drawn: dict[tuple[int, int], str]
) -> None:
    """Draw readings; where those of several runs fall into one cell, neither letter hides."""
    for hertz, level in zip(curve.frequencies, curve.levels_db, strict=True):
        cell = axes.x(hertz) // 2, axes.y(level) // 4
        own = _OUT_OF_LINE if hertz in curve.outliers else sign
        drawn[cell] = own if drawn.get(cell, own) == own else _READ
        canvas.glyph(*cell, drawn[cell], "curve")


def _draw_marks(canvas: Canvas, axes: Axes, curve: Curve) -> None:
    for name in ("minus_3db_low", "minus_3db_high"):
        hertz = curve.marks.get(name)
        if hertz is not None and axes.low_hertz <= hertz <= axes.high_hertz:
            cell = axes.x(hertz) // 2
            canvas.glyph(cell, canvas.height - 1, "┴", "mark")
            canvas.glyph(cell, 0, "┬", "mark")


def level_labels(axes: Axes, rows: int) -> dict[int, str]:
    """Row -> number [dB], and the unit in a row that is free."""
    labels: dict[int, str] = {}
    for level in axes.levels():
        row = axes.y(level) // 4
        if 0 <= row < rows:
            labels[row] = format_number(level + 0.0)
    free = next((row for row in reversed(range(rows)) if row not in labels), None)
    return labels if free is None else labels | {free: "dB"}


def _frequency_labels(axes: Axes, width: int) -> str:
    """Labels at 1, 2 and 5 of each decade, as far as they do not touch."""
    cells = [" "] * (width + _LEFT)
    free_from = 0
    for hertz, is_decade in sorted(axes.decades(), key=lambda each: (not each[1], each[0])):
        if not is_decade and f"{hertz:e}"[0] not in "25":
            continue
        text = f"{hertz / 1000:g}k" if hertz >= 1000 else f"{hertz:g}"
        start = _LEFT + axes.x(hertz) // 2 - len(text) // 2
        end = start + len(text)
        around = cells[max(0, start - 1) : end + 1]
        if start >= free_from and end <= len(cells) and all(cell == " " for cell in around):
            cells[start:end] = text
    return "".join(cells)
