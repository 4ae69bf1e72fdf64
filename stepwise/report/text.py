"""A run as plain text, 80 columns wide: the sheet, the flags, what was left out, the verdict."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from stepwise.journal import shown_instant
from stepwise.judge import Flag, Result, Verdict
from stepwise.quantities import dotted, format_uncertain, with_signs
from stepwise.report.columns import hanging, table_row
from stepwise.report.marks import marks_text
from stepwise.report.words import REHEARSAL
from stepwise.run import Review, Run, SheetLine, figure, run_marks
from stepwise.safe_text import plain

_WHAT, _TYPED, _FOUND, _VERDICT = 27, 13, 25, 11
_FEW_SKIPS = 3
"""From so many prompts in a row that were left out for one reason, they share a line."""


def sheet_text(run: Run, warnings: Sequence[str] = ()) -> str:
    """The whole sheet.

    Args:
        run: The run; only looked at.
        warnings: What is wrong with its log, one sentence each; said before all else.
    """
    return "\n".join(_sheet(run, warnings)) + "\n"


def _sheet(run: Run, warnings: Sequence[str]) -> Iterator[str]:
    review = run.review()
    for warning in warnings:
        yield from hanging(f"DAMAGED: {plain(warning)}")
    yield from _head(run)
    yield from _steps(run, review)
    if review.flags:
        yield ""
        yield "Flags"
        for flag in review.flags:
            yield from flag_text(flag)
    yield from _remarks(run, review)
    marks = run_marks(run)
    if marks.lines:
        yield ""
        yield from marks_text(marks)
    yield ""
    yield from hanging(plain(review.sentence))


def _head(run: Run) -> Iterator[str]:
    plan, begin = run.plan, run.state.begin
    procedure = plan.procedure
    yield from hanging(plain(f"{plan.unit.name} · {procedure.title}"))
    parts = [f"{procedure.name}, revision {procedure.revision}", f"bench {plan.bench.name}"]
    parts += [f"{name} {begin[name]}" for name in ("operator", "episode") if begin.get(name)]
    if run.state.began_at:
        parts.append(f"begun {shown_instant(run.state.began_at)}")
    yield from hanging(plain(" · ".join(parts)))
    if begin.get("rehearsal"):
        yield from hanging(REHEARSAL)
    if run.transcribed:
        yield "Transcribed from notes: nobody was led through the steps"


def _steps(run: Run, review: Review) -> Iterator[str]:
    beside = _results_without_line(run, review)
    for number, step in enumerate(run.plan.procedure.steps, start=1):
        yield ""
        yield from hanging(plain(f"{number}. {step.title}"))
        lines = [line for line in review.lines if line.step == step.id]
        yield from lines_text(lines)
        for result in beside:
            if result.step == step.id:
                yield from _result_text(result)
        if step.id in review.closed_steps:
            held = f"closed by the hold point “{review.closed_steps[step.id]}”"
            yield from hanging(plain(held), " ", "   ")
            continue
        shut = [
            why for key, why in review.closed_prompts.items() if run.prompt(key).step == step.id
        ]
        for why in dict.fromkeys(shut):
            yield from hanging(plain(f"{shut.count(why)} not done: {why}"), " ", "   ")
        if not lines and not shut:
            yield " not done"


def _results_without_line(run: Run, review: Review) -> list[Result]:
    """Computed results that no line of the sheet shows: corners, flatness, sag beside power."""
    shown = set()
    for line in review.lines:
        at = run.prompt(line.key).of
        shown.add((at.step, at.channel, at.load, line.outcome))
    return [
        result
        for result in review.results
        if result.key is None
        and (result.step, result.channel, result.load, figure(result)) not in shown
    ]


def lines_text(lines: Iterable[SheetLine]) -> Iterator[str]:
    """Lines of the sheet; a row of prompts left out for one reason takes one line."""
    for reason, group in groupby(lines, _reason_for_skip):
        together = list(group)
        if reason is not None and len(together) >= _FEW_SKIPS:
            yield from hanging(plain(f"{len(together)} left out: {reason}"), " ", "   ")
        else:
            for line in together:
                yield from line_text(line)


def _reason_for_skip(line: SheetLine) -> str | None:
    return line.remark if line.verdict is Verdict.SKIPPED else None


def line_text(line: SheetLine) -> Iterator[str]:
    """One line of the sheet: what was asked, typed, read, and what it is worth."""
    what = plain(line.what)
    marks = [mark for mark, is_so in _marks(line) if is_so]
    if line.as_read in ("confirmed", "not so"):
        verdict = line.verdict.value if line.as_read == "not so" else ""
        said = [line.as_read, *marks]
        wide = _WHAT + 1 + _TYPED
        yield from table_row([([what], wide), (said, _FOUND), ([verdict], _VERDICT)])
        return
    found = [plain(part) for part in (line.as_read, line.outcome, line.remark) if part]
    if line.judgement is not None and line.judgement.limit is not None:
        found.append(f"({line.judgement.limit.text})")
    typed = "" if line.typed == line.remark else plain(line.typed)
    judged = _verdict_parts(line.verdict_words)
    yield from table_row(
        [([what], _WHAT), ([typed], _TYPED), (found + marks, _FOUND), (judged, _VERDICT)]
    )


def _marks(line: SheetLine) -> tuple[tuple[str, bool], ...]:
    return (
        ("corrected", line.corrected),
        (f"kept, though it looked like a slip: {line.doubted}", bool(line.doubted)),
        ("closed since", line.closed),
    )


def _result_text(result: Result) -> Iterator[str]:
    what = dotted(result.channel, with_signs(result.load), result.label)
    found = [format_uncertain(result.measure, result.unit)]
    if result.judgement.limit is not None:
        found.append(f"({result.judgement.limit.text})")
    if result.trust:
        found.append(plain(result.trust))
    judged = _verdict_parts(result.judgement.words)
    yield from table_row([([plain(what)], _WHAT + 1 + _TYPED), (found, _FOUND), (judged, _VERDICT)])


def _verdict_parts(words: str) -> list[str]:
    """The verdict and how likely that is, a paragraph each, so that "43 %" stays together."""
    verdict, comma, likely = words.partition(", ")
    return [verdict + comma, likely]


def flag_text(flag: Flag) -> Iterator[str]:
    """One flag: what was seen, the numbers, the likely causes, the next thing to try."""
    where = dotted(flag.step, flag.channel, with_signs(flag.load))
    yield from hanging(plain(f"{flag.severity.upper()} {flag.name} · {where}"), " ! ", "   ")
    yield from hanging(plain(flag.says), "   ", "   ")
    evidence = "; ".join(f"{each.name} {each.value}" for each in flag.evidence)
    yield from hanging(plain(evidence), "   seen   ", "          ")
    for number, cause in enumerate(flag.likely):
        yield from hanging(plain(cause), "          " if number else "   likely ", "            ")
    yield from hanging(plain(flag.next_try), "   try    ", "          ")


def _remarks(run: Run, review: Review) -> Iterator[str]:
    said = []
    for note in review.notes:
        line = run.line(note.key) if note.key is not None else None
        said.append(f"{line.what}: {note.text}" if line is not None else note.text)
    ended = run.state.ended
    if ended is not None and ended.get("remark"):
        said.append(str(ended["remark"]))
    if said:
        yield ""
        yield "Remarks"
    for text in said:
        yield from hanging(plain(text), " ", "   ")
