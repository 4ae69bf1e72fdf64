"""A report as one HTML page that needs nothing else: no network, no script, no second file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import count
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from stepwise.judge import Grade, Severity, Verdict
from stepwise.report.content import (
    SEVERITY_GLYPHS,
    Block,
    Cell,
    Figure,
    Report,
    ResponsePlot,
    Table,
    done_words,
    grade_glyph,
)
from stepwise.safe_text import plain

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

_CLASSES: Mapping[Grade, str] = MappingProxyType(
    {
        Verdict.IN_SPEC: "in",
        Verdict.OUT_OF_SPEC: "out",
        Verdict.TOO_CLOSE: "close",
        Verdict.NOTED: "noted",
        Verdict.SKIPPED: "skipped",
        Severity.STOP: "out",
        Severity.WRONG: "out",
    }
)
_LEFT, _RIGHT = 10.0, 46.0
"""Where the edges of a limit stand in its little bar, of 56 units."""
_MINUS = re.compile(r"(?<![\w.)/-])-(?=[0-9])")
_BEFORE_UNIT = re.compile(
    r"(?<=[0-9]) (?=(?:[pnµmkM]?(?:W|V|A|Hz|Ω|F|s)|VA|dB|%|°C|min|±)(?![\w]))|(?<=±) (?=[0-9])"
)
_OVER = 0.22
"""How far beyond an edge the bar reaches; what lies further out stands at its end."""


@dataclass(frozen=True, slots=True)
class BarPlaces:
    """Where the parts of a limit's bar stand, in its units."""

    start: str
    end: str
    dot: str
    low: str
    high: str
    has_floor: bool
    has_ceiling: bool


def html_page(report: Report) -> str:
    """The report as HTML: valid, printable, light and dark.

    Args:
        report: What it says. Text from people in it becomes text, whatever it holds.
    """
    environment = _environment()
    numbers = count(1)
    page = environment.get_template("report.html.j2").render(
        report=report, css=_css(environment), next_number=lambda: next(numbers)
    )
    lines = (line.rstrip() for line in page.splitlines())
    return "\n".join(line for line in lines if line) + "\n"


def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("stepwise.report"),
        autoescape=True,
        finalize=_shown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(
        kind_of=_kind_of,
        as_typed=_as_typed,
        draw=_draw,
        split_figure=split_figure,
        bar_places=bar_places,
        judged_columns=_judged_columns,
        done_words=done_words,
        verdict_class=_CLASSES.__getitem__,
        verdict_glyph=grade_glyph,
        severity_glyph=_severity_glyph,
    )
    return environment


def _shown(value: Any) -> Any:
    """Text as a page shows it; markup of our own is left alone.

    Control and direction characters are made visible, a minus before a number is a true one,
    and no line ends between a number and its unit.
    """
    if type(value) is not str:
        return value
    return _BEFORE_UNIT.sub("\u00a0", _MINUS.sub("\u2212", plain(value)))


def _as_typed(text: str) -> Markup:
    from markupsafe import Markup, escape

    return Markup(escape(plain(text)))


def _css(environment: Environment) -> Markup:
    from markupsafe import Markup

    loader = environment.loader
    if loader is None:
        raise LookupError("the report's own files are not there")
    source, _, _ = loader.get_source(environment, "report.css")
    return Markup(source)


def _kind_of(block: Block) -> str:
    return type(block).__name__


def _judged_columns(table: Table) -> frozenset[int]:
    """Columns in which a figure has its verdict beside it, so that all of them line up."""
    return frozenset(
        place
        for row in table.rows
        for place, cell in enumerate(row)
        if cell.is_figure and cell.judgement is not None
    )


def _severity_glyph(severity: Severity) -> str:
    return SEVERITY_GLYPHS[severity]


def split_figure(text: str) -> tuple[str, str]:
    """A figure in two: the number, and the uncertainty and unit behind it."""
    number, _, rest = text.partition(" ")
    return number, rest


def bar_places(cell: Cell) -> BarPlaces:
    """Where a value and its uncertainty lie on the bar of its limit.

    Args:
        cell: With a bar and a judgement that has a limit.
    """
    at, reach = cell.bar or (0.0, 0.0)
    limit = cell.judgement.limit if cell.judgement is not None else None
    has_floor = limit is not None and limit.low is not None
    has_ceiling = limit is not None and limit.high is not None
    return BarPlaces(
        start=f"{_LEFT if has_floor else 0.0:g}",
        end=f"{_RIGHT if has_ceiling else _LEFT + _RIGHT:g}",
        dot=_place(at),
        low=_place(at - reach),
        high=_place(at + reach),
        has_floor=has_floor,
        has_ceiling=has_ceiling,
    )


def _place(position: float) -> str:
    held = min(max(position, -_OVER), 1.0 + _OVER)
    return f"{_LEFT + held * (_RIGHT - _LEFT):.1f}"


def _draw(figure: Figure, number: int) -> Markup:
    from markupsafe import Markup, escape

    from stepwise.report.plot_look import PAGE, drawing
    from stepwise.report.plot_power import power_figure
    from stepwise.report.plot_response import response_figure
    from stepwise.report.svg import inline_svg

    plot = figure.plot
    with drawing(PAGE):
        drawn = (
            response_figure(plot, PAGE)
            if isinstance(plot, ResponsePlot)
            else power_figure(plot, PAGE)
        )
        title = "Frequency response" if isinstance(plot, ResponsePlot) else "Power into each load"
        described = str(escape(plain(figure.described)))
        return Markup(inline_svg(drawn, f"plot{number}", title, described))
