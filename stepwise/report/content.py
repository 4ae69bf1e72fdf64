"""What a report says, in blocks that know no format: HTML and Markdown print the same ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stepwise.judge import Conclusion, Grade, Judgement, Severity, Verdict
from stepwise.quantities import Uncertain

VERDICT_GLYPHS: Mapping[Verdict, str] = MappingProxyType(
    {
        Verdict.IN_SPEC: "✓",
        Verdict.OUT_OF_SPEC: "✗",
        Verdict.TOO_CLOSE: "≈",
        Verdict.NOTED: "·",
        Verdict.SKIPPED: "–",
    }
)
"""A sign before the word, so that no verdict hangs on colour."""

SEVERITY_GLYPHS: Mapping[Severity, str] = MappingProxyType(
    {Severity.STOP: "■", Severity.WRONG: "▲", Severity.LOOK: "◆", Severity.NOTE: "•"}
)


def grade_glyph(grade: Grade) -> str:
    """The sign before what a whole run comes to."""
    return VERDICT_GLYPHS[grade] if isinstance(grade, Verdict) else SEVERITY_GLYPHS[grade]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table."""

    text: str
    judgement: Judgement | None = None
    """What is printed as glyph and word; the text of such a cell is the word alone."""
    is_figure: bool = False
    """Set flush right, its uncertainty and unit apart."""
    is_typed: bool = False
    """As somebody typed it, sign for sign."""
    bar: tuple[float, float] | None = None
    """Place in the limit (0 and 1 are its edges) and half-width of the uncertainty there."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under heads; the first cell of a row names it."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    figures: frozenset[int] = frozenset()
    """Columns that hold figures."""


@dataclass(frozen=True, slots=True)
class Facts:
    """Terms with what they stand for."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Prose:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True)
class Listing:
    """Items under one another, with a heading where there are several lists."""

    items: tuple[str, ...]
    heading: str = ""
    is_dense: bool = False
    """Short items, that may stand in two columns."""


@dataclass(frozen=True, slots=True)
class Sight:
    """One place where a flag stands."""

    where: str
    says: str
    evidence: tuple[tuple[str, str], ...]
    done: str
    """What was done about it, in a sentence."""


@dataclass(frozen=True, slots=True)
class FlagNote:
    """A flag, wherever it stands, with what became of it."""

    name: str
    """As the program calls it: early-roll-off-low."""
    severity: Severity
    step: str
    """Title of the step."""
    sights: tuple[Sight, ...]
    """At least one."""
    likely: tuple[str, ...]
    next_tries: tuple[str, ...]
    closed: str = ""
    """What it closes and what opens it again; empty where it closes nothing."""


@dataclass(frozen=True, slots=True)
class Point:
    """One reading of a plot, in the units of its axes."""

    x: float
    y: Uncertain


@dataclass(frozen=True, slots=True)
class Panel:
    """One row of levels with its limit, its model and the corners found."""

    name: str
    points: tuple[Point, ...]
    """Frequency [Hz], level [dB]."""
    model: tuple[tuple[float, float], ...]
    """[Hz], [dB]"""
    band: tuple[float, float] | None
    """Frequencies between which the limit holds [Hz]."""
    low_db: float | None
    high_db: float | None
    marks: tuple[tuple[float, str], ...]
    """Frequency [Hz] with its words: "-3 dB at 28 Hz"."""
    corners: tuple[float, ...] = ()
    """Of the model [Hz]."""
    outliers: tuple[float, ...] = ()
    """Frequencies of points that do not belong to the others [Hz]."""


@dataclass(frozen=True, slots=True)
class ResponsePlot:
    """Panels over one frequency axis."""

    panels: tuple[Panel, ...]


@dataclass(frozen=True, slots=True)
class PowerBar:
    """Power of one channel into one load [W]."""

    channel: str
    clean: Uncertain
    loud: Uncertain | None
    """At 10 %."""


@dataclass(frozen=True, slots=True)
class PowerGroup:
    """Powers into one load, with what the seller claims there."""

    load: str
    claim: float | None
    """[W]"""
    claimed: str
    """The claim in words, "claimed 60 W at 10 %"; empty where there is none."""
    bars: tuple[PowerBar, ...]


@dataclass(frozen=True, slots=True)
class PowerPlot:
    """Powers against claims, load by load."""

    groups: tuple[PowerGroup, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A plot, with its caption and what it shows in words for those who cannot see it."""

    plot: ResponsePlot | PowerPlot
    caption: str
    described: str


Block = Table | Facts | Prose | Listing | FlagNote | Figure


@dataclass(frozen=True, slots=True)
class Section:
    """Blocks under a heading."""

    anchor: str
    """Unique within the report."""
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class KeyFigure:
    """One of the few figures that stand large at the top."""

    label: str
    figure: str
    note: str
    judgement: Judgement | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """A run, written for a reader who was not there."""

    unit: str
    title: str
    """Of the procedure."""
    conclusion: Conclusion
    sentence: str
    points: tuple[str, ...]
    """What matters most, at most three sentences."""
    warnings: tuple[str, ...]
    """What must be known before any figure is believed."""
    keys: tuple[KeyFigure, ...]
    sections: tuple[Section, ...]
    began: str
    """Day, ISO 8601; empty where it is not recorded."""
    log: str
    """Name of the log's folder."""
    version: str
    """Of the program that made the report."""


def cell_of(judgement: Judgement) -> Cell:
    """The cell of a verdict, with the probability to be in spec where it is close."""
    return Cell(judgement.words, judgement)


def done_words(note: FlagNote) -> tuple[str, ...]:
    """What was done about a flag; the same for all its places is said once."""
    words = {sight.done for sight in note.sights}
    if len(words) == 1:
        return tuple(words)
    return tuple(f"{sight.where}: {sight.done}".removeprefix(": ") for sight in note.sights)
