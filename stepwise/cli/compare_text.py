"""A comparison as plain text, 80 columns wide."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from stepwise.archive import (
    ALLOWANCE,
    Change,
    ComparedCurve,
    ComparedResult,
    Comparison,
    Difference,
)
from stepwise.journal import shown_instant
from stepwise.quantities import NOT_A_FIGURE, dotted, format_uncertain, format_value, with_signs
from stepwise.report import hanging, table_row
from stepwise.safe_text import plain

_WIDTH = 78
_WHAT = 24
_WORDS = {Change.MORE: "MORE", Change.LESS: "LESS", Change.SAME: "same", Change.UNKNOWN: ""}


def comparison_lines(comparison: Comparison, *, everything: bool = False) -> Iterator[str]:
    """The whole comparison.

    Args:
        comparison: What was compared.
        everything: Also the readings that are only the way to other results.
    """
    yield from _sides(comparison)
    yield from _conditions(comparison)
    results = comparison.results if everything else comparison.shown
    if len(comparison.sides) == 2 and results:
        yield ""
        yield from table_row([([], _WHAT), (["A"], 16), (["B"], 16), (["B − A"], 15), ([], 4)])
    for step, group in groupby(results, lambda each: each.step):
        yield from _step(step, list(group))
    for curve in comparison.curves:
        yield from _curve(curve)
    yield from _flags(comparison)
    yield ""
    yield from hanging(comparison.sentence)
    yield from hanging(f"{ALLOWANCE}. Every ± holds the true value in about 95 cases of 100")


def _sides(comparison: Comparison) -> Iterator[str]:
    for side in comparison.sides:
        parts = [
            side.unit, side.serial, f"{side.procedure}, revision {side.revision}",
            f"bench {side.bench}", side.episode, shown_instant(side.began), side.conclusion.listed,
            side.folder.name,
        ]  # fmt: skip
        yield from hanging(plain(dotted(*parts)), f"{side.letter}  ", "   ")


def _conditions(comparison: Comparison) -> Iterator[str]:
    yield ""
    if not comparison.conditions:
        yield "Done alike: procedure, loads, sweep level, supply, meters and bench"
        return
    yield "Not the same" if comparison.is_comparable else "These cannot be compared:"
    letters = [side.letter for side in comparison.sides]
    for each in comparison.conditions:
        told = "; ".join(
            f"{letter} {value}" for letter, value in zip(letters, each.values, strict=True)
        )
        text = f"{each.what}: {told} ({each.bearing}: {each.affects})"
        yield from hanging(plain(text), " ! " if each.bearing.name != "NOTE" else "   ", "     ")


def _step(step: str, results: Sequence[ComparedResult]) -> Iterator[str]:
    yield ""
    yield plain(step)
    for place, group in groupby(results, _pass):
        if place:
            yield plain(f" {place}")
        for each in group:
            yield from _result(_name(each), each)


def _pass(each: ComparedResult) -> str:
    return dotted(each.channel, with_signs(each.load))


def _name(each: ComparedResult) -> str:
    """The label, with the tone and the capacitor of a square wave."""
    tone, slash, rest = (each.point or "").partition("/")
    if not slash:
        return each.label
    capacitor = rest.partition("/")[0]
    at = tone if capacitor == "none" else f"{tone}, {capacitor}"
    return each.label if tone in each.label else f"{each.label}, {at}"


def _result(what: str, each: ComparedResult) -> Iterator[str]:
    """One row for two sides; for more, one row a side."""
    if len(each.values) == 2:
        change = each.differences[1]
        first, second = each.figures
        yield from table_row(
            [
                ([plain(what)], _WHAT),
                ([first], 16),
                ([second], 16),
                ([_figure(change, each.unit)], 15),
                ([_word(change)], 4),
            ]
        )
        return
    for number, figure in enumerate(each.figures):
        change = each.differences[number]
        letter = chr(ord("A") + number)
        yield from table_row(
            [
                ([plain(what)] if number == 0 else [], _WHAT),
                ([letter], 2),
                ([figure], 20),
                ([_figure(change, each.unit)], 20),
                ([_word(change)], 4),
            ]
        )


def _figure(change: Difference | None, unit: str) -> str:
    return "" if change is None else change.figure(unit)


def _word(change: Difference | None) -> str:
    return "" if change is None else _WORDS[change.change]


def _curve(curve: ComparedCurve) -> Iterator[str]:
    yield ""
    where = dotted(curve.step, curve.channel)
    yield plain(f"{where}: level in dB")
    sides = len(curve.curves)
    letters = [chr(ord("A") + number) for number in range(sides)]
    two = sides == 2
    columns = min(14, (_WIDTH - 12) // (sides + 2 * two))
    head = [([""], 10), *(([letter], columns) for letter in letters)]
    yield from table_row([*head, *([(["B − A"], columns), ([""], 4)] if two else [])])
    for hertz, point in zip(curve.frequencies, curve.points, strict=True):
        cells: list[tuple[Sequence[str], int]] = [([format_value(hertz, "Hz")], 10)]
        for value in point.values:
            text = NOT_A_FIGURE if value is None else format_uncertain(value, "dB")
            cells.append(([text.removesuffix(" dB")], columns))
        if two:
            change = point.differences[1]
            text = _figure(change, "dB").removesuffix(" dB")
            cells += [([text], columns), ([_word(change)], 4)]
        yield from table_row(cells)


def _flags(comparison: Comparison) -> Iterator[str]:
    if not comparison.flags:
        return
    yield ""
    yield "Flags"
    for each in comparison.flags:
        letters = "".join(
            side.letter if is_on else "·"
            for side, is_on in zip(comparison.sides, each.on, strict=True)
        )
        where = dotted(each.flag.step, each.flag.channel, with_signs(each.flag.load))
        yield from hanging(
            plain(f"{each.flag.name} · {where}: {each.flag.says}"),
            f" {letters} ",
            " " * (len(letters) + 2),
        )
