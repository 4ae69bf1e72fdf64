"""Entering a run from notes: what was read elsewhere becomes a log like any other.

Every row is tried on a run in memory before anything is written, so that a table with a row
that does not fit leaves no log behind, and all such rows are told at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from stepwise.errors import FileProblems, Problem, RunError
from stepwise.journal import Event
from stepwise.quantities import Refusal
from stepwise.run.notes import Notes, Row
from stepwise.run.outcome import Status
from stepwise.run.plan import Plan
from stepwise.run.recorder import Clock
from stepwise.run.row_match import Mismatch, match_row
from stepwise.run.run import Run
from stepwise.steps import Prompt

NOT_NOTED = "not in the notes"
_REFERENCE = "reference"

Pair = tuple[Row, Prompt]


class _ScratchJournal:
    """Events that are tried and never kept."""

    def __init__(self, at: datetime) -> None:
        self._events: list[Event] = []
        self.append("begin", {"transcribed": True}, at)

    @property
    def path(self) -> Path:
        """No file."""
        return Path()

    @property
    def events(self) -> tuple[Event, ...]:
        """All events so far."""
        return tuple(self._events)

    @property
    def set_aside(self) -> Path | None:
        """Nothing was torn."""
        return None

    def append(self, kind: str, data: Mapping[str, object], at: datetime) -> Event:
        """Add one event in memory."""
        event = Event(len(self._events) + 1, at.isoformat(), kind, data)
        self._events.append(event)
        return event

    def close(self) -> None:
        """Nothing is held."""


def transcribe(
    plan: Plan, notes: Notes, logs: Path, clock: Clock, *, operator: str = "", episode: str = ""
) -> Run:
    """Make a log from notes, and end it.

    A row without a reading leaves its prompt out, for the reason in its note; what the notes do
    not have is left out as such, hold points too, since everything has happened already; only
    behind an item of a hold point's list that is not so nothing more of that list is taken. A
    reading that is probably a slip is kept as noted, since nobody can look again; its line of the
    sheet says so.

    Args:
        plan: What the notes are of.
        notes: The table.
        logs: Folder to put the log in.
        clock: When it is entered.
        operator: Who tested.
        episode: Label that groups logs.

    Raises:
        FileProblems: Rows that do not fit, all of them; no log is made.
        JournalError: The log cannot be written.
    """
    trial = Run(plan, _ScratchJournal(clock()), clock)
    pairs, problems = _matched(notes, trial.prompts)
    problems += [problem for pair in pairs if (problem := _try(trial, pair, notes)) is not None]
    problems += _behind_a_refusal(trial, pairs, notes)
    if problems:
        raise FileProblems(tuple(sorted(problems, key=lambda problem: problem.line or 0)))
    run = Run.start(plan, logs, clock, operator=operator, episode=episode, transcribing=True)
    try:
        _enter(run, pairs)
    except BaseException:
        run.close()
        raise
    return run


def _matched(notes: Notes, prompts: Sequence[Prompt]) -> tuple[list[Pair], list[Problem]]:
    """Rows with their prompts, in the order in which they are entered."""
    pairs: list[Pair] = []
    problems: list[Problem] = []
    taken: dict[str, Row] = {}
    for row in notes.rows:
        found = match_row(row, prompts)
        if isinstance(found, Mismatch):
            problems.append(notes.problem(row, found.cell, found.what, found.remedy))
        elif found.key in taken:
            what = f"answers the same as row {taken[found.key].number}"
            problems.append(notes.problem(row, "", what, "leave one of the two out"))
        else:
            taken[found.key] = row
            pairs.append((row, found))
    return list(_references_first(pairs)), problems


def _references_first(pairs: Sequence[Pair]) -> Iterator[Pair]:
    """The order of the file, but a sweep's reference before the levels that rest on it."""
    references = {
        prompt.of: (row, prompt)
        for row, prompt in pairs
        if prompt.kind == "sweep" and prompt.point == _REFERENCE
    }
    given: set[str] = set()
    for pair in pairs:
        for each in (references.get(pair[1].of, pair), pair):
            if each[1].key not in given:
                given.add(each[1].key)
                yield each


def _try(trial: Run, pair: Pair, notes: Notes) -> Problem | None:
    """Answer in memory; gives the problem of a reading that cannot be taken."""
    row, prompt = pair
    if not row.reading:
        return None
    entry = trial.preview(prompt.key, row.reading)
    if isinstance(entry, Refusal):
        remedy = f"write for instance {entry.nearest}" if entry.nearest else ""
        return notes.problem(row, "reading", f"“{row.reading[:60]}”: {entry.reason}", remedy)
    outcome = trial.take(prompt.key, row.reading, sure=True)
    if outcome.status is Status.REFUSED and prompt.key not in trial.closed_prompts():
        return notes.problem(row, "reading", outcome.message)
    return None


def _behind_a_refusal(trial: Run, pairs: Sequence[Pair], notes: Notes) -> list[Problem]:
    """Items of a list that are answered though one before them is not so, in whatever order."""
    closed = trial.closed_prompts()
    remedy = "leave the row out, or mend the row of that hold point"
    return [
        notes.problem(row, "reading", closed[prompt.key], remedy)
        for row, prompt in pairs
        if row.reading and prompt.key in closed
    ]


def _enter(run: Run, pairs: Sequence[Pair]) -> None:
    noted = {prompt.key for _, prompt in pairs}
    for row, prompt in pairs:
        if row.reading:
            outcome = run.take(prompt.key, row.reading, sure=True)
            if outcome.status is Status.REFUSED:
                raise RunError(f"row {row.number} was refused after all: {outcome.message}")
            if row.note:
                run.note(row.note, prompt.key)
        else:
            run.skip(prompt.key, row.note or NOT_NOTED)
    for prompt in run.prompts:
        if prompt.key not in noted:
            run.skip(prompt.key, NOT_NOTED)
    run.end()
