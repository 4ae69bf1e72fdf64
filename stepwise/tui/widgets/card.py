"""The card: the line in hand, unfolded into all that is needed to answer it."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap

from textual.content import Content

from stepwise.quantities import Answer, format_value, si_unit, with_signs
from stepwise.run import Card, SheetLine
from stepwise.steps import Prompt, Setting
from stepwise.tui.reply import REASONS, Doubted, Mode
from stepwise.tui.widgets.columns import fit
from stepwise.tui.widgets.text import StillText

_WORD = 9
"""Cells of the word in front of a line."""


@dataclass(frozen=True, slots=True)
class Room:
    """What there is room for."""

    width: int
    """Cells across."""
    is_roomy: bool
    """Room for the how of the step, and for all cautions at every prompt."""
    is_first: bool
    """The first prompt of its step, where cautions are said in full."""


class CardHead(StillText):
    """Where in the run this is: step, title, count."""

    def __init__(self) -> None:
        super().__init__("card-head")

    def show(self, card: Card | None, *, is_again: bool) -> None:
        """Print the head of a card."""
        if card is None:
            self.show_text(Content("Nothing is left to ask"))
            return
        again = "taking again · " if is_again else ""
        self.show_text(
            Content.assemble(
                (f"{again}step {card.step_number} of {card.of_steps} · ", "$faint"),
                (card.step_title, "bold"),
                (f" · {card.number} of {card.of}", "$faint"),
            )
        )


class CardBody(StillText):
    """Question, settings, meter, limit, cautions; or the reasons to choose from."""

    def __init__(self) -> None:
        super().__init__("card-body")

    def show(
        self,
        card: Card,
        mode: Mode,
        panel: tuple[Setting, ...],
        before: SheetLine | None,
        room: Room,
    ) -> None:
        """Print a card.

        Args:
            card: The prompt in hand with its surroundings.
            mode: What the entry is for.
            panel: What simulated instruments show, in a rehearsal.
            before: The line that is taken again.
            room: What there is room for.
        """
        if mode is Mode.REASON:
            self.show_text(_reasons(card.prompt))
            return
        lines = [Content.styled(question(card.prompt, mode), "bold $live")]
        if before is not None:
            had = before.outcome or before.as_read or before.typed
            lines.append(_row("before", f"{had}, typed {before.typed}", room, "$faint"))
        lines.extend(_settings(card.settings, room.width))
        lines.extend(
            _row("shown", f"{each.what}: {each.to}", room, "$close-call") for each in panel
        )
        # Before what may have no room any more.
        lines.extend(_cautions(card.cautions, room))
        lines.extend(_meter_and_limit(card, room))
        if room.is_roomy and card.how:
            lines.append(_row("how", card.how, room, "$faint"))
        self.show_text(Content("\n").join(lines))

    def show_doubt(self, card: Card, doubted: Doubted) -> None:
        """Ask what a probable slip is to be; the answer is not kept yet."""
        self.show_text(_doubt(card.prompt, doubted))

    def show_done(self, sentence: str) -> None:
        """Say that nothing is left to ask."""
        self.show_text(Content.styled(sentence, "bold"))


def question(prompt: Prompt, mode: Mode) -> str:
    """What is asked, with its sign."""
    if mode is Mode.NOTE:
        return f"Remark to: {prompt.ask}"
    if prompt.expected.answer is Answer.CONFIRM:
        return f"□ {prompt.ask}?"
    return prompt.ask


def _doubt(prompt: Prompt, doubted: Doubted) -> Content:
    slip = doubted.slip
    rows = [
        Content.styled(f"Sure? {prompt.ask}: {doubted.typed.strip()}", "bold $close-call"),
        Content(slip.says),
        Content.assemble((" + Enter ", "bold $live"), " keep it as typed"),
    ]
    if slip.meant:
        meant = slip.meant_echo.removeprefix("read as ") or slip.meant
        rows.append(Content.assemble((" * Enter ", "bold $live"), f" take it as {meant}"))
    rows.append(Content.assemble((" - Enter ", "bold $live"), " look again, and type it again"))
    return Content("\n").join(rows)


def _reasons(prompt: Prompt) -> Content:
    rows = [Content.styled(f"Why is this left out? {prompt.ask}", "bold $live")]
    rows.extend(
        Content.assemble((f" {number} ", "bold $live"), f" {reason}")
        for number, reason in enumerate(REASONS, start=1)
    )
    if prompt.optional:
        rows.append(Content.assemble((" Enter ", "bold $live"), " no reason: it is optional"))
    return Content("\n").join(rows)


def _settings(settings: tuple[Setting, ...], width: int) -> list[Content]:
    """All settings, as many a line as fit, none parted: what is faint, to what is plain."""
    rows: list[Content] = []
    used = 0
    for setting in settings:
        to = with_signs(setting.to)
        each = Content.assemble((f"{setting.what} ", "$faint"), (to, "bold"))
        if rows and used + 3 + each.cell_length <= width:
            rows[-1] = rows[-1] + "   " + each
            used += 3 + each.cell_length
            continue
        if _WORD + each.cell_length > width:
            # Longer than a line: its second part stands below its first.
            first, *more = wrap(f"{setting.what} {to}", max(16, width - _WORD))
            each = Content.assemble(
                (setting.what, "$faint"), (first.removeprefix(setting.what), "bold"),
                *((f"\n{' ' * _WORD}{part}", "bold") for part in more),
            )  # fmt: skip
        rows.append(Content.styled(("" if rows else "set").ljust(_WORD), "$faint") + each)
        used = _WORD + each.cell_length
    return rows


def _meter_and_limit(card: Card, room: Room) -> list[Content]:
    expected = card.prompt.expected
    rows = []
    if expected.meter:
        form = with_signs(f"{expected.unit} {expected.form}".strip())
        hint = ", ".join(part for part in (expected.meter, form) if part)
        rows.append(_row("meter", hint, room))
        if expected.ranges and room.is_roomy:
            # Ranges of a level are those of the voltmeter that reads it.
            unit = "V" if expected.answer is Answer.LEVEL else expected.unit
            ranges = ", ".join(format_value(each, si_unit(unit)) for each in expected.ranges)
            rows.append(_row("ranges", ranges, room))
    elif card.prompt.meter_hint:
        rows.append(_row("meter", card.prompt.meter_hint, room))
    if card.limit_text:
        rows.append(_row("limit", card.limit_text, room))
    return rows


def _cautions(cautions: tuple[str, ...], room: Room) -> list[Content]:
    """In full where the step begins; later their beginnings, to be read whole with `?`."""
    if room.is_first or room.is_roomy:
        return [_row("caution", f"! {text}", room, "bold $caution") for text in cautions]
    if not cautions:
        return []
    more = f" (? all {len(cautions)})" if len(cautions) > 1 else " (?)"
    text = fit(f"! {cautions[0]}", max(8, room.width - _WORD - len(more)))
    return [Content.assemble(("caution  ", "$faint"), (text, "$caution"), (more, "$faint"))]


def _row(word: str, text: str, room: Room, style: str = "$ink") -> Content:
    """A word, and the text beside it; its further lines stand below its first."""
    width = max(16, room.width - _WORD)
    lines = [part for line in text.splitlines() for part in wrap(line, width) or [""]]
    beside = ("\n" + " " * _WORD).join(lines)
    return Content.assemble((word.ljust(_WORD), "$faint"), (beside, style))
