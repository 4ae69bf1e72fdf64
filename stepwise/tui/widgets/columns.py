"""How the width of the ledger is shared among its columns."""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size

from stepwise.judge import Verdict
from stepwise.run import SheetLine
from stepwise.tui.widgets.limit_bar import WIDTH as BAR
from stepwise.tui.widgets.limit_bar import limit_bar
from stepwise.tui.words import VERDICT_MARKS, verdict_text

_GAP = 1
_VERDICT = 19
_READ = 18
_TYPED = 12
_OUTCOME = 30
_LEAST_WHAT = 26


@dataclass(frozen=True, slots=True)
class Columns:
    """Widths in cells; 0 leaves a column out."""

    what: int
    typed: int
    read: int
    outcome: int
    bar: int
    verdict: int = _VERDICT

    @property
    def before_verdict(self) -> int:
        """Cells of all columns but the verdict's, with the gaps between them."""
        shown = [
            each for each in (self.what, self.typed, self.read, self.outcome, self.bar) if each
        ]
        return sum(shown) + _GAP * (len(shown) - 1)

    @property
    def heads(self) -> str:
        """The line of column heads."""
        return "  " + _join(self, ("what", "as typed", "as read", "result", "in limits", "verdict"))


def columns_for(width: int) -> Columns:
    """Share `width` cells: what matters less is left out first."""
    left = width - 2 - _GAP - _VERDICT
    read = _READ + _GAP
    left -= read
    bar = BAR + _GAP if left - BAR - _GAP >= _LEAST_WHAT else 0
    left -= bar
    typed = _TYPED + _GAP if left - _TYPED - _GAP >= _LEAST_WHAT else 0
    left -= typed
    outcome = min(_OUTCOME + _GAP, left - _LEAST_WHAT) if left >= _LEAST_WHAT + 24 else 0
    return Columns(
        what=max(8, left - outcome),
        typed=max(0, typed - _GAP),
        read=_READ,
        outcome=max(0, outcome - _GAP),
        bar=max(0, bar - _GAP),
    )


def line_text(line: SheetLine, columns: Columns) -> str:
    """All of a line but its verdict, in columns."""
    what, read = line.what, line.as_read or line.remark
    if not columns.outcome and line.judged_what:
        # Where there is no room for both, what is named is what is shown and judged.
        what, read = line.judged_what, line.judged_figure
    what = f"{what} (taken again)" if line.corrected else what
    if line.answer == "confirm":
        # It says so once, among the verdicts, and its question has all the room before them.
        return fit(what, columns.before_verdict)
    bar = limit_bar(line.judgement, line.position)
    read = fit_figure(read, columns.read)
    outcome = _fit_outcome(line.outcome, columns.outcome)
    return _join(columns, (what, line.typed, read, outcome, bar))


def line_verdict(line: SheetLine) -> str:
    """The verdict's words, and that a hold point has closed the step since."""
    said = verdict_text(line.verdict)
    if line.answer == "confirm":
        said = f"{VERDICT_MARKS[line.verdict]} {line.verdict_words}"
    return f"{said}, closed" if line.closed and line.verdict is not Verdict.SKIPPED else said


def fit(text: str, width: int) -> str:
    """Cut or fill a text to exactly `width` cells; what is cut is marked."""
    if cell_len(text) <= width:
        return set_cell_size(text, width)
    return set_cell_size(text, width - 1) + "…" if width > 1 else "…"[:width]


def fit_figure(figure: str, width: int) -> str:
    """A figure that keeps its unit: first its spaces go, then the ± is only hinted at."""
    value, sign, rest = figure.partition(" ± ")
    if cell_len(figure) <= width or not sign:
        return figure
    tight = f"{value}±{rest}"
    return tight if cell_len(tight) <= width else f"{value} {rest.partition(' ')[2]} ±…"


def _fit_outcome(outcome: str, width: int) -> str:
    """A label and its figure: where both have no room, the label is cut, not the figure."""
    before, sign, rest = outcome.partition(" ± ")
    label, _, value = before.rpartition(" ")
    room = width - cell_len(f" {value} ± {rest}")
    if cell_len(outcome) <= width or not sign or room < 4:
        return outcome
    return f"{fit(label, room)} {value} ± {rest}"


def _join(columns: Columns, cells: tuple[str, ...]) -> str:
    widths = (columns.what, columns.typed, columns.read, columns.outcome, columns.bar)
    wide = (*widths, columns.verdict)
    shown = [fit(text, width) for text, width in zip(cells, wide, strict=False) if width]
    return (" " * _GAP).join(shown)
