"""A picture in braille dots: drawn once for its size and theme, then only shown."""

from __future__ import annotations

from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget


class Picture(Widget):
    """Draws what it is given; the same figures stand in the ledger as well."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "plot--paper",
        "plot--grid",
        "plot--axis",
        "plot--limit",
        "plot--model",
        "plot--curve",
        "plot--mark",
    }

    def __init__(self, name: str) -> None:
        super().__init__(id=name, classes="picture")
        self._strips: list[Strip] = []
        self._styles: dict[str, Style] = {}
        """Of each layer: a row has many runs, and asking for a style takes longer than drawing."""

    def draw(self) -> list[Strip]:
        """All rows, for the size that it has now."""
        raise NotImplementedError

    def draw_again(self) -> None:
        """What is shown has changed."""
        self._strips = []
        self.refresh()

    def notify_style_update(self) -> None:
        """Draw again when the theme changes."""
        self._strips = []
        self._styles = {}
        super().notify_style_update()

    def on_resize(self) -> None:
        """Draw again at the new size."""
        self._strips = []

    def render_line(self, y: int) -> Strip:
        """One row of the picture."""
        if not self._strips:
            self._strips = self.draw() or [self.blank()]
        return self._strips[y] if y < len(self._strips) else self.blank()

    def blank(self) -> Strip:
        """A row of nothing."""
        return Strip.blank(self.size.width, self._style(""))

    def _style(self, layer: str) -> Style:
        style = self._styles.get(layer)
        if style is None:
            style = self.get_component_rich_style(f"plot--{layer or 'paper'}")
            self._styles[layer] = style
        return style

    def strip(self, runs: list[tuple[str, str]]) -> Strip:
        """A row of runs of (text, layer); an empty layer is paper."""
        segments = [Segment(text, self._style(layer)) for text, layer in runs]
        return Strip(segments).adjust_cell_length(self.size.width, self._style(""))
