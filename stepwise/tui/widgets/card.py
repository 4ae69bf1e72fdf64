"""The card: the line in hand, unfolded into all that is needed to answer it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from textwrap import wrap

from textual.content import Content

from stepwise.quantities import Answer, format_value, si_unit, with_signs
from stepwise.run import Card, SheetLine
from stepwise.steps import Prompt, Setting
from stepwise.tui.reply import REASONS, Doubted, Mode
from stepwise.tui.widgets.text import StillText

_WORD = 9
"""Cells of the word in front of a line."""
_TIGHT = 2
"""Cells in front of a line where room is short: only the first of a row has its word."""
_GIVING_WAY = ((False, True), (True, True), (True, False))
"""Whether lines are set tight, and the meter has its own: one after another for the cautions."""
_MORE = " … (?)"
"""Ends a caution that is cut: the help has it whole."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a card shows of a prompt."""

    card: Card
    mode: Mode
    panel: tuple[Setting, ...]
    """What simulated instruments show, in a rehearsal."""
    before: SheetLine | None
    """The line that is taken again."""
    is_first: bool
    """The first prompt of its step, where cautions are loud."""
    is_roomy: bool
    """Room for the ranges of the meter and the how of the step."""


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
        self._asked: Asked | None = None

    def show(self, asked: Asked) -> None:
        """Print a card; it is laid out for the size that the body has, and again for a new one."""
        if asked.mode is Mode.REASON:
            self._put(_reasons(asked.card.prompt))
            return
        self._asked = asked
        self._lay_out()

    def on_resize(self) -> None:
        """Share the new room among question, cautions, meter and limit."""
        self._lay_out()

    def _lay_out(self) -> None:
        width, height = self.content_size
        if self._asked is not None and width and height:
            self.show_text(Content("\n").join(card_lines(self._asked, width, height)))

    def _put(self, text: Content) -> None:
        """Print what is no question, and keep it whatever the size."""
        self._asked = None
        self.show_text(text)

    def show_doubt(self, card: Card, doubted: Doubted) -> None:
        """Ask what a probable slip is to be; the answer is not kept yet."""
        self._put(_doubt(card.prompt, doubted))

    def show_done(self, sentence: str) -> None:
        """Say that nothing is left to ask."""
        self._put(Content.styled(sentence, "bold"))


def card_lines(asked: Asked, width: int, height: int) -> list[Content]:
    """The lines of a card, none wider than `width`.

    Question, settings and what is shown come first; meter and limit keep their lines. Cautions
    take what is free between them. Where that is not enough for all their words, the rest is
    set tight, and then the meter gives up its line where instruments are shown; what is cut
    even so says so.
    """
    card = asked.card
    style = "bold $caution" if asked.is_first else "$caution"
    for is_tight, has_meter in _GIVING_WAY:
        lines = _first(asked, width, is_tight, is_bare=not has_meter)
        last = _last(asked, width, is_tight, has_meter=has_meter or not asked.panel)
        cautions = _fewest(lambda indent: _cautions(card, width, style, indent), is_tight)
        free = height - len(lines) - len(last)
        if len(cautions) <= max(0, free):
            break
    if cautions and free < 1:
        lines = _marked(lines, width)
    lines += _cut(cautions, free, width, style)
    lines += last
    if asked.is_roomy and card.how:
        lines += _cut(_row("how", card.how, width, "$faint"), height - len(lines), width, "$faint")
    return lines


def _first(asked: Asked, width: int, is_tight: bool, *, is_bare: bool) -> list[Content]:
    """Question, the answer before, settings, and what instruments show.

    The word before what is shown gives way last, and only where that saves a line.
    """
    said = wrap(question(asked.card.prompt, asked.mode), width)
    lines = [Content.styled(each, "bold $live") for each in said]
    if asked.before is not None:
        had = asked.before.outcome or asked.before.as_read or asked.before.typed
        typed = f"{had}, typed {asked.before.typed}"
        lines += _row("before", typed, width, "$faint", is_tight=is_tight)
    lines += _fewest(lambda indent: _settings(asked.card.settings, width, indent), is_tight)
    for shown in asked.panel:
        text = f"{shown.what}: {shown.to}"
        rows = _row("shown", text, width, "$close-call", is_tight=is_tight)
        bare = _row("", text, width, "$close-call", is_tight=True) if is_bare else rows
        lines += bare if len(bare) < len(rows) else rows
    return lines


def _cautions(card: Card, width: int, style: str, indent: int) -> list[Content]:
    return [
        part
        for text in card.cautions
        for part in _beside("caution", f"! {text}", width, style, indent)
    ]


def _last(asked: Asked, width: int, is_tight: bool, *, has_meter: bool) -> list[Content]:
    """Meter, with its ranges where there is room for them, and limit."""
    text = asked.card.limit_text
    rows = _meter(asked, width, is_tight) if has_meter else []
    return rows + (_row("limit", text, width, is_tight=is_tight) if text else [])


def _marked(lines: list[Content], width: int) -> list[Content]:
    """The first line with room for it says that there are cautions, where none can stand."""
    for mark in ("   ! caution (?)", " ! (?)"):
        for place, line in enumerate(lines):
            if line.cell_length + len(mark) <= width:
                marked = Content.assemble(line, (mark, "bold $caution"))
                return [*lines[:place], marked, *lines[place + 1 :]]
    return lines


def _cut(lines: list[Content], room: int, width: int, style: str) -> list[Content]:
    """As many lines as there is room for; where that is not all, the last one says so."""
    if len(lines) <= room:
        return lines
    kept = lines[: max(0, room)]
    if kept:
        whole = kept[-1].plain
        end = len(whole) if len(whole) + len(_MORE) <= width else width - len(_MORE)
        if end < len(whole):
            end = max(whole.rfind(" ", _WORD, end + 1), _WORD)  # no word is parted
        kept[-1] = Content.assemble(kept[-1][:end].rstrip(), (_MORE, style))
    return kept


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
    rows.append(Content.assemble((" - Enter ", "bold $live"), " look again, type it again"))
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


def _settings(settings: tuple[Setting, ...], width: int, indent: int) -> list[Content]:
    """All settings, as many a line as fit, none parted: what is faint, to what is plain."""
    rows: list[Content] = []
    gap = 3 if indent == _WORD else 2
    used = 0
    for setting in settings:
        to = with_signs(setting.to)
        each = Content.assemble((f"{setting.what} ", "$faint"), (to, "bold"))
        if rows and used + gap + each.cell_length <= width:
            rows[-1] = rows[-1] + " " * gap + each
            used += gap + each.cell_length
            continue
        head = " " * indent if rows else "set".ljust(max(indent, 4))
        if len(head) + each.cell_length > width:
            # Longer than a line: its second part stands below its first.
            first, *more = wrap(f"{setting.what} {to}", max(16, width - len(head)))
            each = Content.assemble(
                (setting.what, "$faint"), (first.removeprefix(setting.what), "bold"),
                *((f"\n{' ' * indent}{part}", "bold") for part in more),
            )  # fmt: skip
        rows.append(Content.styled(head, "$faint") + each)
        used = len(head) + each.cell_length
    return [part for row in rows for part in row.split("\n")]


def _meter(asked: Asked, width: int, is_tight: bool) -> list[Content]:
    card = asked.card
    expected = card.prompt.expected
    rows: list[Content] = []
    if expected.meter:
        form = with_signs(f"{expected.unit} {expected.form}".strip())
        hint = ", ".join(part for part in (expected.meter, form) if part)
        rows += _row("meter", hint, width, is_tight=is_tight)
        if expected.ranges and asked.is_roomy:
            # Ranges of a level are those of the voltmeter that reads it.
            unit = "V" if expected.answer is Answer.LEVEL else expected.unit
            ranges = ", ".join(format_value(each, si_unit(unit)) for each in expected.ranges)
            rows += _row("ranges", ranges, width, is_tight=is_tight)
    elif card.prompt.meter_hint:
        rows += _row("meter", card.prompt.meter_hint, width, is_tight=is_tight)
    return rows


def _row(
    word: str, text: str, width: int, style: str = "$ink", *, is_tight: bool = False
) -> list[Content]:
    """A word, and the text beside it; its further lines stand below its first."""
    return _fewest(lambda indent: _beside(word, text, width, style, indent), is_tight)


def _fewest(made: Callable[[int], list[Content]], is_tight: bool) -> list[Content]:
    """Lines in their columns; where they are to be tight, without, if that makes them fewer."""
    lines = made(_WORD)
    tight = made(_TIGHT) if is_tight and len(lines) > 1 else lines
    return tight if len(tight) < len(lines) else lines


def _beside(word: str, text: str, width: int, style: str, indent: int) -> list[Content]:
    """A word, and the text beside it; its further lines stand `indent` cells in."""
    head = word.ljust(max(indent, len(word) + 1))
    rows: list[Content] = []
    for line in text.splitlines():
        begins = " " * (indent if rows else len(head))
        room = max(16 + len(begins), width)
        parts = wrap(line, room, initial_indent=begins, subsequent_indent=" " * indent)
        for part in parts or [""]:
            front = " " * indent if rows else head
            rows.append(Content.assemble((front, "$faint"), (part[len(front) :], style)))
    return rows
