"""Entering a run from notes: a table of readings taken elsewhere.

All rows are read against the prompts before anything is written: a table with a row that does
not fit leaves no log behind, and every such row is reported at once.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from stepwise.errors import FileProblems, NotationError, Problem
from stepwise.quantities import Answer, Expected, Refusal, parse_entry, parse_quantity
from stepwise.run.plan import Plan
from stepwise.run.run import Clock, Run
from stepwise.steps import KINDS, Prompt, Workings

COLUMNS = ("step", "channel", "load", "point", "reading", "note")
_NOT_NOTED = "not in the notes"
_LARGEST = 4_000_000
"""Characters of a table of notes; a page of readings is a few thousand."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the notes."""

    number: int
    """Line in the file, from 1."""
    step: str
    channel: str
    load: str
    point: str
    reading: str
    note: str


def read_rows(text: str, path: Path) -> tuple[Row, ...]:
    """Read a table of readings: commas or semicolons, with a heading.

    Raises:
        FileProblems: The table as a whole cannot be read.
    """
    if len(text) > _LARGEST or "\0" in text:
        raise FileProblems((Problem(path, None, "", "is not a table of readings"),))
    text = text.removeprefix("\ufeff")
    first = text.split("\n", 1)[0]
    delimiter = ";" if first.count(";") > first.count(",") else ","
    try:
        table = list(csv.reader(io.StringIO(text), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise FileProblems((Problem(path, None, "", f"cannot be read as CSV: {error}"),)) from None
    heading = [cell.strip().lower() for cell in table[0]] if table else []
    missing = [name for name in ("step", "point", "reading") if name not in heading]
    unknown = [name for name in heading if name not in COLUMNS]
    if missing or unknown:
        what = f"the heading lacks {', '.join(missing)}" if missing else f"unknown: {unknown[0]}"
        raise FileProblems((Problem(path, 1, "", what, f"write {','.join(COLUMNS)}"),))
    return tuple(_rows(table, heading))


def _rows(table: Sequence[Sequence[str]], heading: Sequence[str]) -> list[Row]:
    rows = []
    for number, cells in enumerate(table[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        named = dict(zip(heading, (cell.strip() for cell in cells), strict=False))
        rows.append(Row(number, *(named.get(column, "") for column in COLUMNS)))
    return rows


def transcribe(plan: Plan, rows: Sequence[Row], path: Path, logs: Path, clock: Clock) -> Run:
    """Make a log from notes.

    Args:
        plan: What the notes are of.
        rows: The notes.
        path: Where they came from, for the problems.
        logs: Folder to put the log in.
        clock: When it is entered.

    Raises:
        FileProblems: Rows that do not fit, all of them; no log is made.
        JournalError: The log cannot be written.
    """
    prompts = Workings(plan.procedure.steps, KINDS, plan.scene).prompts
    matched, problems = _match(rows, prompts, path)
    problems += _unreadable(matched, path)
    if problems:
        raise FileProblems(tuple(problems))
    run = Run.start(plan, logs, clock, transcribing=True)
    for prompt in prompts:
        row = matched.get(prompt.key)
        if row is None:
            run.skip(prompt.key, _NOT_NOTED)
            continue
        run.take(prompt.key, row[1].reading)
        if row[1].note:
            run.note(row[1].note, prompt.key)
    return run


Matched = dict[str, tuple[Prompt, Row]]


def _match(
    rows: Sequence[Row], prompts: Sequence[Prompt], path: Path
) -> tuple[Matched, list[Problem]]:
    matched: Matched = {}
    problems: list[Problem] = []
    for row in rows:
        found = [prompt for prompt in prompts if _fits(row, prompt)]
        where = f"row {row.number}"
        if not found:
            what, remedy = _why_unknown(row, prompts)
            problems.append(Problem(path, row.number, where, what, remedy))
        elif found[0].key in matched:
            earlier = matched[found[0].key][1].number
            what = f"the same reading stands in row {earlier}"
            problems.append(Problem(path, row.number, where, what, "leave one out"))
        else:
            matched[found[0].key] = (found[0], row)
    return matched, problems


def _fits(row: Row, prompt: Prompt) -> bool:
    return (
        row.step == prompt.step
        and row.channel.casefold() == (prompt.of.channel or "").casefold()
        and _same(row.load, prompt.of.load or "", "ohm")
        and (_same(row.point, prompt.point, "Hz") or _same_look(row.point, prompt.point))
    )


def _same_look(written: str, wanted: str) -> bool:
    """tone/capacitor/what, its quantities compared by value."""
    parts, others = written.split("/"), wanted.split("/")
    if len(parts) != 3 or len(others) != 3:
        return False
    units = ("Hz", "F", "")
    return all(_same(a, b, unit) for a, b, unit in zip(parts, others, units, strict=True))


def _same(written: str, wanted: str, unit: str) -> bool:
    if written.casefold() == wanted.casefold():
        return True
    first, second = _value(written, unit), _value(wanted, unit)
    return first is not None and second is not None and abs(first - second) <= 1e-6 * abs(second)


def _value(text: str, unit: str) -> float | None:
    """A quantity with or without its unit: "8", "8 ohm", "8R", "1k"."""
    if not unit or not text:
        return None
    for attempt in (text, f"{text} {unit}"):
        try:
            quantity = parse_quantity(attempt)
        except NotationError:
            continue
        if quantity.unit in (unit, ""):
            return quantity.value
    return None


def _why_unknown(row: Row, prompts: Sequence[Prompt]) -> tuple[str, str]:
    steps = list(dict.fromkeys(prompt.step for prompt in prompts))
    if row.step not in steps:
        close = get_close_matches(row.step, steps, n=1, cutoff=0.6)
        remedy = f"did you mean “{close[0]}”?" if close else f"steps: {', '.join(steps)}"
        return f"there is no step “{row.step}”", remedy
    own = [prompt for prompt in prompts if prompt.step == row.step]
    places = list(dict.fromkeys((p.of.channel or "", p.of.load or "") for p in own))
    here = [
        prompt
        for prompt in own
        if row.channel.casefold() == (prompt.of.channel or "").casefold()
        and _same(row.load, prompt.of.load or "", "ohm")
    ]
    if not here:
        known = "; ".join(", ".join(part or "(empty)" for part in place) for place in places)
        return f"no pass for channel “{row.channel}”, load “{row.load}”", f"there are: {known}"
    points = list(dict.fromkeys(prompt.point for prompt in here))
    close = get_close_matches(row.point, points, n=1, cutoff=0.5)
    remedy = f"did you mean “{close[0]}”?" if close else f"points: {', '.join(points)}"
    return f"nothing called “{row.point}” is read there", remedy


def _unreadable(matched: Matched, path: Path) -> list[Problem]:
    """Rows whose reading does not fit its prompt; volts in a sweep count against its reference."""
    problems = []
    for prompt, row in matched.values():
        entry = parse_entry(row.reading, _expected(prompt, matched))
        if isinstance(entry, Refusal):
            where = f"row {row.number}, reading"
            remedy = f"write for instance {entry.nearest}" if entry.nearest else ""
            what = f"“{row.reading}”: {entry.reason}"
            problems.append(Problem(path, row.number, where, what, remedy))
    return problems


def _expected(prompt: Prompt, matched: Matched) -> Expected:
    expected = prompt.expected
    if expected.answer is not Answer.LEVEL:
        return expected
    reference = matched.get(prompt.of.prompt_key("reference"))
    if reference is None:
        return expected
    entry = parse_entry(reference[1].reading, reference[0].expected)
    if isinstance(entry, Refusal):
        return expected
    from dataclasses import replace

    return replace(expected, reference_volts=entry.value)
