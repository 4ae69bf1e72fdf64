"""Runs side by side: what was not the same, what differs, and the curves over one another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from stepwise.journal import shown_instant
from stepwise.quantities import dotted, with_signs
from stepwise.tui.screens.closing import ClosingScreen
from stepwise.tui.widgets.bars import Hints, TopBar
from stepwise.tui.widgets.columns import fit
from stepwise.tui.widgets.curve_plot import CurvePlot
from stepwise.tui.words import grade_mark, severity_text

if TYPE_CHECKING:
    from stepwise.archive import ComparedFlag, ComparedResult, Comparison, Condition, Side

_FIGURE = 19
_CHANGE = 26
_LEAST_NAME = 22


class CompareScreen(ClosingScreen[None]):
    """Shows a finished comparison."""

    CSS_PATH = "compare.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "back", id="compare.back"),
        Binding("a", "everything", "everything", id="compare.everything"),
        Binding("v", "next_curve", "next curve", id="compare.curve"),
    ]

    def __init__(self, comparison: Comparison) -> None:
        super().__init__()
        self._comparison = comparison
        self._shows_all = False
        self._curve = 0

    def compose(self) -> ComposeResult:
        """The words, then a curve."""
        yield TopBar()
        with VerticalScroll(id="compare"):
            yield Static("", id="compare-text", markup=False)
        yield Static("", id="compare-curve-of", markup=False)
        yield CurvePlot()
        yield Hints()

    def on_mount(self) -> None:
        """Print it."""
        self.query_one("#compare", VerticalScroll).focus()
        names = " · ".join(f"{side.letter} {side.unit}" for side in self._comparison.sides)
        self.query_one(TopBar).show(f"Side by side: {names}")
        self._show()

    def on_resize(self) -> None:
        """Print it for the new width."""
        self._show()

    def on_hints_clicked(self, event: Hints.Clicked) -> None:
        """A hint was clicked: the same as its key."""
        acts = {
            "back": self.action_back,
            "everything": self.action_everything,
            "curve": self.action_next_curve,
        }
        acts[event.command]()

    def action_back(self) -> None:
        """Back to the list."""
        self.answer(None)

    def action_everything(self) -> None:
        """All results, or those that differ."""
        self._shows_all = not self._shows_all
        self._show()

    def action_next_curve(self) -> None:
        """The sweep of the next channel."""
        self._curve += 1
        self._show()

    def _show(self) -> None:
        compared = self._comparison
        width = max(40, self.size.width - 6)
        text = comparison_content(compared, width, shows_all=self._shows_all)
        self.query_one("#compare-text", Static).update(text)
        word = "those that differ" if self._shows_all else "every result"
        hints = [("Esc", "back", "back"), ("a", word, "everything")]
        plot, of = self.query_one(CurvePlot), self.query_one("#compare-curve-of", Static)
        plot.display = of.display = bool(compared.curves) and self.size.height >= 22
        if compared.curves:
            curve = compared.curves[self._curve % len(compared.curves)]
            drawn = [each for each in curve.curves if each is not None]
            letters = [
                side.letter
                for side, each in zip(compared.sides, curve.curves, strict=True)
                if each is not None
            ]
            plot.show_over_one_another(drawn, letters)
            where = f" · {curve.channel}" if curve.channel else ""
            of.update(
                Content.styled(
                    f"{curve.step}{where}: {', '.join(letters)}; ● where they meet", "bold"
                )
            )
            if len(compared.curves) > 1:
                hints.append(("v", "next curve", "curve"))
        self.query_one(Hints).show(hints)


def comparison_content(compared: Comparison, width: int, *, shows_all: bool) -> Content:
    """A comparison as text.

    Args:
        compared: The runs side by side.
        width: Cells across.
        shows_all: Every result, else those whose difference counts.
    """
    parts = [_block("The runs", [_side(side, width) for side in compared.sides])]
    if compared.conditions:
        head = "What was not the same"
        parts.append(_block(head, [_condition(each) for each in compared.conditions]))
    parts.append(Content.styled(compared.sentence, "bold $live"))
    chosen = compared.shown if shows_all else compared.differing
    if chosen:
        rows = [_heads(compared, width), *(_result(each, width) for each in chosen)]
        parts.append(_block("Every result" if shows_all else "What differs", rows))
    if compared.flags:
        parts.append(_block("Flags", [_flag(each, compared) for each in compared.flags]))
    return Content("\n\n").join(parts)


def _block(head: str, rows: Sequence[Content]) -> Content:
    return Content("\n").join([Content.styled(head, "bold"), *rows])


def _side(side: Side, width: int) -> Content:
    """A run, on one line or, where that has no room, with what it was below its verdict."""
    began = f"begun {shown_instant(side.began)}"
    whole = side.conclusion
    rest = (side.serial, f"{side.procedure} {side.revision}", began, f"at {side.bench}")
    unit = Content.assemble((f" {side.letter}  ", "bold $live"), (side.unit, "bold"))
    verdict = Content.styled(f"  {grade_mark(whole.grade)} {whole.listed}", "$faint")
    line = unit + f" · {dotted(*rest)}" + verdict
    return line if line.cell_length <= width else unit + verdict + f"\n    {dotted(*rest)}"


def _condition(each: Condition) -> Content:
    style = {"cannot be compared": "bold $out-of-spec", "bears on results": "$close-call"}
    affects = f"  → {each.affects}" if each.affects else ""
    return Content.assemble(
        (f" {each.bearing.value}: ", style.get(each.bearing.value, "$faint")),
        (f"{each.what}  ", "bold"),
        " | ".join(each.values),
        (affects, "$faint"),
    )


def _name_width(compared_sides: int, width: int) -> int:
    return max(_LEAST_NAME, width - (_FIGURE + 1) * compared_sides - _CHANGE)


def _heads(compared: Comparison, width: int) -> Content:
    name = " " * _name_width(len(compared.sides), width)
    heads = "".join(fit(side.letter, _FIGURE) + " " for side in compared.sides)
    return Content.styled(f"{name} {heads}against A", "$faint")


def _result(each: ComparedResult, width: int) -> Content:
    name = with_signs(dotted(each.channel, each.load, each.label))
    figures = "".join(fit(figure, _FIGURE) + " " for figure in each.figures)
    changes = "; ".join(
        f"{difference.figure(each.unit)} {difference.change.value}".strip()
        for difference in each.differences
        if difference is not None
    )
    return Content.assemble(
        fit(name, _name_width(len(each.values), width)),
        " ",
        figures,
        (changes, "bold $close-call" if each.differs else "$faint"),
    )


def _flag(each: ComparedFlag, compared: Comparison) -> Content:
    on = " ".join(
        side.letter if stands else "–" for side, stands in zip(compared.sides, each.on, strict=True)
    )
    return Content.assemble(
        (f" {on}  ", "bold $live"),
        f"{severity_text(each.flag.severity)}  ",
        (each.flag.name, "bold"),
        f"  {each.flag.says}",
    )
