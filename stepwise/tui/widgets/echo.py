"""The line below the entry: what is being understood, or what has just been said."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static

from stepwise.quantities import Refusal, Understood


class EchoLine(Static):
    """One line; what is typed comes before what was said."""

    def __init__(self) -> None:
        super().__init__(id="echo", markup=False)
        self._said = Content("")
        self._standing = ""

    def say(self, sentence: str, *, is_problem: bool = False) -> None:
        """Say a sentence that stands until something is typed."""
        style = "bold $close-call" if is_problem else "$ink"
        mark = "! " if is_problem and sentence else ""
        self._said = Content.styled(mark + sentence, style)
        self.update(self._said if sentence else Content.styled(self._standing, "$faint"))

    def stand(self, sentence: str) -> None:
        """What is said while there is nothing else to say."""
        self._standing = sentence
        if sentence:
            self.say(sentence, is_problem=True)

    def preview(self, understood: Understood | Refusal | None) -> None:
        """Show what the text typed so far would be read as."""
        if understood is None:
            self.update(self._said)
        elif isinstance(understood, Understood):
            self.update(Content.styled(understood.echo, "bold $live"))
        else:
            self.update(Content.styled(f"? {understood.sentence}", "$close-call"))
