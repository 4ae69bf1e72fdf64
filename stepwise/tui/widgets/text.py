"""Texts that are drawn again only where they changed."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static


class Text(Static):
    """Text of people and of the run, never markup; the same text again costs nothing.

    The toolkit lays the whole screen out anew for every text that is set, which takes longer
    than all that a key press does here otherwise.
    """

    IS_STILL = False
    """Whether its style sheet gives it a fixed size, so that no text of it moves anything."""

    def __init__(self, name: str) -> None:
        super().__init__(id=name, markup=False)
        self._shown = Content("")

    def show_text(self, text: Content | str) -> None:
        """Show a text in place of the one before."""
        content = text if isinstance(text, Content) else Content(text)
        if not content.is_same(self._shown):
            self._shown = content
            self.update(content, layout=not self.IS_STILL and not self._fits(content))

    def _fits(self, content: Content) -> bool:
        """Whether it takes the very place of the text before."""
        width, height = self.content_size
        if self.styles.auto_dimensions and not self.styles.is_auto_width:
            return width > 0 and content.get_height(self.styles.get_rules(), width) == height
        return content.cell_length == width and height == 1


class StillText(Text):
    """Text in a place of fixed size."""

    IS_STILL = True
