"""Flags, what was done about them, and every reading that was taken again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from stepwise.journal import Recorded
from stepwise.judge import Flag, Severity
from stepwise.report.content import Block, Cell, FlagNote, Prose, Section, Sight, Table
from stepwise.report.words import joined, sentence, shown_place
from stepwise.run import Run, RunView, place_words

_CLOSED_WORDS = {
    "tone": "everything that is read with the tone on",
    "capacitor": "square waves with a capacitor across the load",
    "loudspeaker": "steps in which a loudspeaker is connected",
}
_Identity = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class _Gone:
    """A flag that was shown and does not stand any more."""

    seq: int
    name: str
    severity: str
    where: str
    says: str
    step: str


def flags(view: RunView) -> Section:
    """Flags that stand, and flags that were shown and are gone."""
    blocks: list[Block] = [*_notes(view.run)]
    if not blocks:
        blocks.append(Prose("No flag stands."))
    gone = tuple(_gone(view))
    if gone:
        rows = tuple(
            (Cell(each.name), Cell(each.where), Cell(sentence(each.says)), Cell(_after(view, each)))
            for each in gone
        )
        heads = ("Flag", "Where", "What was said", "Then")
        blocks.append(Table("Flags that were shown at the bench and are gone", heads, rows))
    return Section("flags", "Flags", tuple(blocks))


def _notes(run: Run) -> Iterator[FlagNote]:
    """One note for each flag, however many channels and loads it stands at."""
    together: dict[tuple[str, str], list[Flag]] = {}
    for flag in run.flags():
        together.setdefault((flag.name, flag.step), []).append(flag)
    titles = {step.id: step.title for step in run.plan.procedure.steps}
    for (name, step), found in together.items():
        yield FlagNote(
            name=name,
            severity=found[0].severity,
            step=titles.get(step, step),
            sights=tuple(_sight(run, flag) for flag in found),
            likely=tuple(dict.fromkeys(cause for flag in found for cause in flag.likely)),
            next_tries=tuple(dict.fromkeys(sentence(flag.next_try) for flag in found)),
            closed=_closed(found[0]),
        )


def _closed(flag: Flag) -> str:
    if not flag.closes:
        return ""
    what = joined([_CLOSED_WORDS.get(each, each) for each in flag.closes])
    return f"{what[:1].upper()}{what[1:]}. {sentence(flag.reopens)}".strip()


def _sight(run: Run, flag: Flag) -> Sight:
    return Sight(
        where=shown_place(flag.channel, flag.load),
        says=sentence(flag.says),
        evidence=tuple((each.name, each.value) for each in flag.evidence),
        done=_done(run, flag),
    )


def _done(run: Run, flag: Flag) -> str:
    """Whether the readings that a flag rests on were taken again."""
    again = [
        _what(run, key)
        for key in flag.keys
        if len(run.state.history.get(key, ())) > 1 and key in run.state.answers
    ]
    if again:
        return f"Taken again, and the flag stands: {joined(again)}."
    if flag.severity is Severity.NOTE:
        return "Nothing had to be done."
    if len(flag.keys) == 1:
        return "The reading was not taken again."
    return "None of its readings was taken again."


def _what(run: Run, key: str) -> str:
    prompt = run.prompt(key)
    return place_words(prompt, prompt.ask)


def _gone(view: RunView) -> Iterator[_Gone]:
    """Flags in the journal that do not stand at the end, each once."""
    standing: set[_Identity] = {flag.identity for flag in view.run.flags()}
    for event in view.record.events:
        shown = event.data.get("shown")
        flagged = shown.get("flags") if isinstance(shown, Mapping) else None
        for each in flagged if isinstance(flagged, list | tuple) else ():
            if not isinstance(each, Mapping):
                continue
            identity = tuple(each.get(name) for name in ("flag", "step", "channel", "load"))
            if identity not in standing:
                standing.add(identity)
                yield _recorded(event.seq, each)


def _recorded(seq: int, each: Mapping[str, object]) -> _Gone:
    channel, load = (str(each[name]) if each.get(name) else None for name in ("channel", "load"))
    return _Gone(
        seq, str(each.get("flag", "")), str(each.get("severity", "")),
        shown_place(channel, load), str(each.get("says", "")), str(each.get("step", "")),
    )  # fmt: skip


def _after(view: RunView, gone: _Gone) -> str:
    """The correction that came after a flag, in its step before any other."""
    run = view.run
    later = [
        (answers[place - 1], answer)
        for answers in run.state.history.values()
        for place, answer in enumerate(answers)
        if place and answer.seq > gone.seq and answer.key in run.state.answers
    ]
    later.sort(key=lambda pair: (not pair[1].key.startswith(f"{gone.step}/"), pair[1].seq))
    if not later:
        return "It went as further readings came in."
    before, after = later[0]
    return f"{_what(run, after.key)} was taken again: {_typed(after)} instead of {_typed(before)}."


def corrections(view: RunView) -> Section | None:
    """Every answer that was replaced or doubted; None where there was none."""
    blocks = [table for table in (_corrected(view.run), _doubted(view.run)) if table is not None]
    if not blocks:
        return None
    return Section("corrections", "Taken again, or doubted", tuple(blocks))


def _corrected(run: Run) -> Table | None:
    rows = tuple(
        (
            Cell(_what(run, key)),
            Cell("; ".join(_typed(answer) for answer in answers[:-1]), is_typed=True),
            Cell(_typed(run.state.answers[key]), is_typed=True),
        )
        for key, answers in run.state.history.items()
        if len(answers) > 1 and key in run.state.answers
    )
    heads = ("What", "Before", "In force")
    return Table("Answers that were replaced; the log keeps both", heads, rows) if rows else None


def _typed(answer: Recorded) -> str:
    """What was typed; a skip and a confirmation by key say so."""
    words = {"skip": "skipped", "confirm": "confirmed", "refuse": "not so"}
    return words.get(answer.kind) or answer.typed


def _in_force(run: Run, key: str) -> str:
    return _typed(run.state.answers[key]) if key in run.state.answers else ""


def _doubted(run: Run) -> Table | None:
    rows = tuple(
        (
            Cell(_what(run, doubt.key)),
            Cell(doubt.typed, is_typed=True),
            Cell(doubt.slip.replace("-", " ")),
            Cell(doubt.meant, is_typed=True),
            Cell(_in_force(run, doubt.key), is_typed=True),
        )
        for doubt in run.state.doubts
    )
    heads = ("What", "Typed", "Doubted as", "Probably meant", "In force")
    return (
        Table("Answers that looked like a slip, and were asked about", heads, rows)
        if rows
        else None
    )
