"""The line below the entry: what is being understood, or what has just been said."""

from __future__ import annotations

from textual.content import Content

from stepwise.quantities import Refusal, Understood
from stepwise.tui.widgets.text import StillText


class EchoLine(StillText):
    """One line; what is typed comes before what was said."""

    def __init__(self) -> None:
        super().__init__("echo")
        self._said = Content("")
        self._standing = ""

    def say(self, sentence: str, *, is_problem: bool = False) -> None:
        """Say a sentence that stands until something is typed."""
        style = "bold $close-call" if is_problem else "$ink"
        mark = "! " if is_problem and sentence else ""
        self._said = Content.styled(mark + sentence, style)
        self.show_text(self._said if sentence else Content.styled(self._standing, "$faint"))

    def stand(self, sentence: str) -> None:
        """What is said while there is nothing else to say."""
        self._standing = sentence
        if sentence:
            self.say(sentence, is_problem=True)

    def preview(self, understood: Understood | Refusal | None) -> None:
        """Show what the text typed so far would be read as."""
        if understood is None:
            self.show_text(self._said)
        elif isinstance(understood, Understood):
            self.show_text(Content.styled(understood.echo, "bold $live"))
        else:
            self.show_text(Content.styled(f"? {understood.sentence}", "$close-call"))
