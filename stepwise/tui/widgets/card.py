"""The card: the line in hand, unfolded into all that is needed to answer it."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static

from stepwise.quantities import Answer, format_value
from stepwise.run import Card, SheetLine
from stepwise.steps import Prompt, Setting
from stepwise.tui.session import REASONS, Mode

_INDENT = "  "


class CardHead(Static):
    """Where in the run this is: step, title, count."""

    def __init__(self) -> None:
        super().__init__(id="card-head", markup=False)

    def show(self, card: Card | None, *, is_again: bool) -> None:
        """Print the head of a card."""
        if card is None:
            self.update(Content("Nothing is left to ask"))
            return
        again = "taking again · " if is_again else ""
        self.update(
            Content.assemble(
                (f"{again}step {card.step_number} of {card.of_steps} · ", "$faint"),
                (card.step_title, "bold"),
                (f" · {card.number} of {card.of}", "$faint"),
            )
        )


class CardBody(Static):
    """Question, settings, meter, limit, cautions; or the reasons to choose from."""

    def __init__(self) -> None:
        super().__init__(id="card-body", markup=False)

    def show(
        self,
        card: Card,
        mode: Mode,
        panel: tuple[Setting, ...],
        before: SheetLine | None,
        *,
        is_roomy: bool,
    ) -> None:
        """Print a card.

        Args:
            card: The prompt in hand with its surroundings.
            mode: What the entry is for.
            panel: What simulated instruments show, in a rehearsal.
            before: The line that is taken again.
            is_roomy: Whether there is room for the how of the step.
        """
        if mode is Mode.REASON:
            self.update(_reasons(card.prompt))
            return
        lines = [Content.styled(question(card.prompt, mode), "bold $live")]
        if before is not None:
            had = before.outcome or before.as_read or before.typed
            lines.append(_row("before", f"{had}, typed {before.typed}", "$faint"))
        if card.settings:
            lines.append(_settings(card.settings))
        lines.extend(_meter_and_limit(card))
        lines.extend(_row("caution", f"! {text}", "bold $caution") for text in card.cautions)
        if panel:
            lines.extend(_row(each.what, each.to, "$close-call") for each in panel)
        if is_roomy and card.how:
            lines.append(_row("how", card.how, "$faint"))
        self.update(Content("\n").join(lines))

    def show_done(self, sentence: str) -> None:
        """Say that nothing is left to ask."""
        self.update(Content.styled(sentence, "bold"))


def question(prompt: Prompt, mode: Mode) -> str:
    """What is asked, with its sign."""
    if mode is Mode.NOTE:
        return f"Remark to: {prompt.ask}"
    if prompt.expected.answer is Answer.CONFIRM:
        return f"□ {prompt.ask}?"
    return prompt.ask


def _reasons(prompt: Prompt) -> Content:
    rows = [Content.styled(f"Why is this left out? {prompt.ask}", "bold $live")]
    rows.extend(
        Content.assemble((f" {number} ", "bold $live"), f" {reason}")
        for number, reason in enumerate(REASONS, start=1)
    )
    return Content("\n").join(rows)


def _settings(settings: tuple[Setting, ...]) -> Content:
    """All settings, one after another: what is faint, to what is plain."""
    parts: list[Content | str | tuple[str, str]] = [("set".ljust(9), "$faint")]
    for place, setting in enumerate(settings):
        parts.append("   " if place else "")
        parts.append((f"{setting.what} ", "$faint"))
        parts.append((setting.to.replace("ohm", "Ω"), "bold"))
    return Content.assemble(*parts)


def _meter_and_limit(card: Card) -> list[Content]:
    expected = card.prompt.expected
    rows = []
    if expected.meter:
        ranges = ", ".join(format_value(each, expected.unit or "V") for each in expected.ranges)
        form = f"{expected.unit} {expected.form}".strip().replace("ohm", "Ω")
        hint = ", ".join(part for part in (expected.meter, form) if part)
        rows.append(_row("meter", f"{hint}; ranges {ranges}" if ranges else hint))
    if card.limit_text:
        rows.append(_row("limit", card.limit_text))
    return rows


def _row(word: str, text: str, style: str = "$ink") -> Content:
    return Content.assemble((word.ljust(9), "$faint"), (text, style))
