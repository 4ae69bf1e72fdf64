"""A canvas of braille dots: two across and four down in each cell."""

from __future__ import annotations

_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))


class Canvas:
    """Layers of dots; where layers meet in a cell, the dots join and the later layer colours."""

    def __init__(self, width: int, height: int) -> None:
        self.width = width
        """Cells across."""
        self.height = height
        """Cells down."""
        self._dots = [[0] * width for _ in range(height)]
        self._layers: list[list[str]] = [[""] * width for _ in range(height)]
        self._glyphs: dict[tuple[int, int], str] = {}

    @property
    def dots_across(self) -> int:
        """Dots across."""
        return self.width * 2

    @property
    def dots_down(self) -> int:
        """Dots down."""
        return self.height * 4

    def dot(self, x: int, y: int, layer: str) -> None:
        """Set one dot, counted from the upper left; one outside is left out."""
        if 0 <= x < self.dots_across and 0 <= y < self.dots_down:
            self._dots[y // 4][x // 2] |= _BITS[y % 4][x % 2]
            self._layers[y // 4][x // 2] = layer

    def line(self, start: tuple[int, int], end: tuple[int, int], layer: str) -> None:
        """Set the dots from one place to another."""
        (x0, y0), (x1, y1) = start, end
        across, down = x1 - x0, y1 - y0
        if down == 0:
            for x in range(min(x0, x1), max(x0, x1) + 1):
                self.dot(x, y0, layer)
            return
        steps = max(abs(across), abs(down))
        for step in range(steps + 1):
            self.dot(x0 + round(across * step / steps), y0 + round(down * step / steps), layer)

    def glyph(self, x: int, y: int, text: str, layer: str) -> None:
        """Write characters over the cells from (x, y) on; what does not fit is left out."""
        if not 0 <= y < self.height:
            return
        for place, character in enumerate(text, start=x):
            if 0 <= place < self.width:
                self._glyphs[place, y] = character
                self._layers[y][place] = layer

    def row(self, y: int) -> list[tuple[str, str]]:
        """One row of cells as runs of (text, layer).

        An empty cell goes with the run before it, whose colour it does not show: the fewer the
        runs, the sooner the row is on the screen.
        """
        runs: list[tuple[str, str]] = []
        text, of = "", ""
        for x, (dots, layer) in enumerate(zip(self._dots[y], self._layers[y], strict=True)):
            character = self._glyphs.get((x, y)) or (chr(0x2800 + dots) if dots else " ")
            if character != " " and layer != of:
                if text:
                    runs.append((text, of))
                text, of = "", layer
            text += character
        runs.append((text, of))
        return runs
