"""The dialogs over the sheet: help, leaving, ending; and how a flag is printed in full."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from stepwise.judge import Flag
from stepwise.run import Card, Review
from stepwise.tui.keys import APP_KEYS, COMMANDS, shown_key
from stepwise.tui.screens.closing import ClosingModal
from stepwise.tui.widgets.seen import flag_content

_NOTATION = (
    ("20   20 V   20,5", "a figure; a comma counts as a point"),
    ("48 Vpp   24 Vpk", "peak-to-peak, peak; turned into RMS of a sine"),
    ("2.0 on 3 x10", "2.0 on the 3 V range, through a probe of 10"),
    ("4.2 div at 5", "divisions, and what one is worth"),
    ("-4.5   flat", "decibels, where a level is asked"),
    ("1k5   4R7   2u2", "letters in place of the point"),
    ("=", "the same as the last of that reading"),
    ("y +   n   - Enter", "it is so; it is not so; the same on the keypad"),
)
_KEY_WIDTH = 19


class Reading(ClosingModal[None]):
    """A dialog that is read and closed."""

    DEFAULT_CSS = """
    Reading { align: center middle; }
    Reading > VerticalScroll { width: 92%; max-width: 96; height: auto; max-height: 92%; }
    Reading Static { padding-right: 1; }
    """

    def compose(self) -> ComposeResult:
        """The text, in a frame that scrolls."""
        with VerticalScroll(classes="dialog"):
            yield Static(self.text(), markup=False)

    def text(self) -> Content:
        """What is to be read."""
        raise NotImplementedError

    def on_mount(self) -> None:
        """Arrow keys scroll at once."""
        self.query_one(VerticalScroll).focus()

    def on_key(self, event: events.Key) -> None:
        """Close; the key must not act again on the sheet below."""
        if event.key in ("escape", "enter", "question_mark", "q", "f1"):
            event.stop()
            event.prevent_default()
            self.answer(None)


class HelpDialog(Reading):
    """Why and how of the step in hand, then how readings are written, then the keys."""

    def __init__(self, card: Card | None) -> None:
        super().__init__()
        self._card = card

    def text(self) -> Content:
        """All of it; Esc closes."""
        parts: list[Content] = []
        if self._card is not None:
            parts.append(_step_help(self._card))
        parts.append(_table("How readings are written", _NOTATION))
        keys = [(each.all_shown, each.help) for each in COMMANDS]
        keys += [(shown_key(key), says) for key, (_, says) in APP_KEYS.items()]
        parts.append(_table("Keys (those before a comma work while nothing is typed)", keys))
        parts.append(
            Content.styled("Shift and drag marks text with the mouse. Esc closes this.", "$faint")
        )
        return Content("\n\n").join(parts)


class Question(ClosingModal[bool]):
    """A question that one key answers with yes or no; Enter, which may be typed ahead, does not."""

    DEFAULT_CSS = """
    Question { align: center middle; }
    Question > Static { width: 62; height: auto; }
    """

    def __init__(self, ask: str, says: str, yes: str, no: str) -> None:
        """Ask.

        Args:
            ask: The question.
            says: What has to be known for an answer.
            yes: What yes does, in a word or two.
            no: What no does.
        """
        super().__init__()
        self._ask, self._says, self._yes, self._no = ask, says, yes, no

    def compose(self) -> ComposeResult:
        """One question, and its keys."""
        yield Static(
            Content.assemble(
                (self._ask, "bold"),
                f"\n\n{self._says}\n\n",
                ("y +", "bold $live"),
                f" {self._yes}   ",
                ("n - Esc", "bold $live"),
                f" {self._no}",
            ),
            classes="dialog",
            markup=False,
        )

    def on_key(self, event: events.Key) -> None:
        """One key answers, and goes no farther."""
        event.stop()
        event.prevent_default()
        if event.key in ("y", "plus", "add"):
            self.answer(True)
        elif event.key in ("n", "minus", "subtract", "escape"):
            self.answer(False)


class LeaveDialog(Question):
    """Asked only when something is half typed."""

    def __init__(self, half_typed: str) -> None:
        says = (
            f"“{half_typed}” is half typed and would be lost. "
            "Everything that was taken is in the log, and the run can be carried on."
        )
        super().__init__("Leave this run?", says, "leave", "stay")


class EndDialog(Question):
    """Asked only when the run is not finished."""

    def __init__(self, review: Review, resume: str) -> None:
        """Say what is open.

        Args:
            review: Of the run.
            resume: What to type to carry on with it.
        """
        says = (
            f"{still_open(review)}; nothing that was taken is lost, "
            f"and “{resume}” opens the run again."
        )
        super().__init__("End this run?", says, "end it", "go on with it")


def still_open(review: Review) -> str:
    """What a run waits for, as the beginning of a sentence; empty where it is finished."""
    parts = []
    if review.unanswered:
        is_one = review.unanswered == 1
        have = "question has" if is_one else "questions have"
        parts.append(f"{review.unanswered} {have} no answer")
    if not review.complete and review.unsatisfied:
        first, *more = review.unsatisfied
        parts.append(
            f"{len(more) + 1} hold points are not satisfied, the first “{first}”"
            if more
            else f"the hold point “{first}” is not satisfied"
        )
    words = ", and ".join(parts)
    return words[:1].upper() + words[1:]


def flag_with_evidence(flag: Flag) -> Content:
    """A flag with everything it says."""
    lines = [flag_content(flag)]
    if flag.reopens:
        lines.append(Content.assemble(("  opens again  ", "$faint"), flag.reopens))
    width = max((len(each.name) for each in flag.evidence), default=0)
    lines.extend(
        Content.assemble((f"  {each.name.ljust(width)}  ", "$faint"), (each.value, "bold"))
        for each in flag.evidence
    )
    lines.extend(
        Content.assemble((f"  likely {place}  ", "$faint"), cause)
        for place, cause in enumerate(flag.likely, start=1)
    )
    return Content("\n").join(lines)


def _step_help(card: Card) -> Content:
    parts = [Content.styled(card.step_title, "bold $live")]
    if card.why:
        parts.append(Content.assemble(("why  ", "$faint"), card.why))
    if card.how:
        parts.append(Content.assemble(("how  ", "$faint"), card.how))
    parts.extend(Content.styled(f"!  {text}", "bold $caution") for text in card.cautions)
    if card.on_time is not None:
        parts.append(Content(f"The tone may stay on for {card.on_time:g} s at most."))
    return Content("\n").join(parts)


def _table(head: str, rows: Sequence[tuple[str, str]]) -> Content:
    lines = [Content.styled(head, "bold")]
    lines.extend(
        Content.assemble((key.ljust(_KEY_WIDTH), "bold $live"), says) for key, says in rows
    )
    return Content("\n").join(lines)
