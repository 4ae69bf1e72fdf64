"""The square wave that the sweep so far predicts, to hold against the oscilloscope."""

from __future__ import annotations

from itertools import pairwise
from textwrap import wrap

from textual.strip import Strip

from stepwise.run import Trace
from stepwise.tui.widgets.braille import Canvas
from stepwise.tui.widgets.picture import Picture

_LEFT = 6
"""Cells before the picture, as many as the sweep's picture has for its numbers."""
_LEAST = (_LEFT + 20, 4)
_ROOMY_FROM = 8
"""Rows from which the whole sentence has room."""
_GRATICULE = 10
"""Divisions across, as most oscilloscopes have."""
_HEADROOM = 1.25
"""Height of the picture over the highest peak; never less than over flat tops."""


class TracePlot(Picture):
    """Draws one period."""

    def __init__(self) -> None:
        super().__init__("trace")
        self._trace: Trace | None = None

    def show(self, trace: Trace | None) -> None:
        """Draw a predicted trace; None clears the picture."""
        if trace != self._trace:
            self._trace = trace
            self.draw_again()

    def draw(self) -> list[Strip]:
        """The graticule, the flat tops of a perfect wave, the trace, and the sentence."""
        width, height = self.size
        if self._trace is None or width < _LEAST[0] or height < _LEAST[1]:
            return []
        said = wrap(self._trace.says, width - _LEFT)[:2]
        if height < _ROOMY_FROM:
            # The trace matters more than how the sentence begins.
            short = self._trace.says.partition(", ")[2] or self._trace.says
            said = wrap(short, width - _LEFT)[:1]
        canvas = Canvas(width - _LEFT, height - len(said))
        top = _HEADROOM * max(1.0, *(abs(each) for each in self._trace.volts))

        def place(time: float, volts: float) -> tuple[int, int]:
            down = (canvas.dots_down - 1) * (top - volts) / (2.0 * top)
            return round((canvas.dots_across - 1) * time), round(down)

        _draw_grid(canvas)
        for level in (-1.0, 1.0):
            canvas.line(place(0.0, level), place(1.0, level), "grid")
        places = [
            place(time, volts)
            for time, volts in zip(self._trace.times, self._trace.volts, strict=True)
        ]
        for start, end in pairwise(places):
            canvas.line(start, end, "model")
        rows = [self.strip([(" " * _LEFT, ""), *canvas.row(y)]) for y in range(canvas.height)]
        return [*rows, *(self.strip([(" " * _LEFT + line, "mark")]) for line in said)]


def _draw_grid(canvas: Canvas) -> None:
    for division in range(_GRATICULE + 1):
        x = round((canvas.dots_across - 1) * division / _GRATICULE)
        for y in range(0, canvas.dots_down, 4):
            canvas.dot(x, y, "grid")
    for x in range(0, canvas.dots_across, 4):
        canvas.dot(x, canvas.dots_down // 2, "grid")
