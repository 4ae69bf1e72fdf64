"""Flags, what was done about them, and every reading that was taken again."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge import Flag, Severity
from stepwise.quantities import dotted, with_signs
from stepwise.report.content import Block, Cell, FlagNote, Prose, Section, Sight, Table
from stepwise.report.gone import gone_flags, typed_words
from stepwise.report.words import joined, sentence
from stepwise.run import Run, RunView, place_words

_CLOSED_WORDS = {
    "tone": "everything that is read with the tone on",
    "capacitor": "square waves with a capacitor across the load",
    "loudspeaker": "steps in which a loudspeaker is connected",
}


def flags(view: RunView) -> Section:
    """Flags that stand, and flags that were shown and are gone."""
    blocks: list[Block] = [*_notes(view.run)]
    if not blocks:
        blocks.append(Prose("No flag stands."))
    gone = gone_flags(view)
    if gone:
        rows = tuple(
            (
                Cell(each.name),
                Cell(dotted(each.channel, with_signs(each.load))),
                Cell(sentence(each.says)),
                Cell(each.then),
            )
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
        where=dotted(flag.channel, with_signs(flag.load)),
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
            Cell("; ".join(typed_words(answer) for answer in answers[:-1]), is_typed=True),
            Cell(typed_words(run.state.answers[key]), is_typed=True),
        )
        for key, answers in run.state.history.items()
        if len(answers) > 1 and key in run.state.answers
    )
    heads = ("What", "Before", "In force")
    return Table("Answers that were replaced; the log keeps both", heads, rows) if rows else None


def _in_force(run: Run, key: str) -> str:
    return typed_words(run.state.answers[key]) if key in run.state.answers else ""


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
