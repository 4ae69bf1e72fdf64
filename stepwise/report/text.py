"""A log as plain text: the sheet, what it adds up to, the flags, the verdict."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from stepwise.judge import Flag, Result, Verdict
from stepwise.quantities import format_uncertain
from stepwise.report.safe import plain
from stepwise.run import Review, Run, SheetLine

WIDTH = 80
_QUESTION = 58
"""Columns for a question; the longest verdict stands beside it."""


def sheet_text(run: Run) -> str:
    """The whole sheet of a run, at most 80 columns wide where the words allow it."""
    return "\n".join(_sheet(run)) + "\n"


def _sheet(run: Run) -> Iterator[str]:
    review, plan = run.review(), run.plan
    begin = run.state.begin
    yield plain(f"{plan.procedure.title} (revision {plan.procedure.revision})")
    yield plain(f"Unit {plan.unit.name} · bench {plan.bench.name}")
    extra = [f"{name} {begin[name]}" for name in ("operator", "episode") if begin.get(name)]
    if begin.get("rehearsal"):
        extra.append("rehearsal, simulated bench")
    if begin.get("transcribed"):
        extra.append("transcribed from notes")
    if extra:
        yield plain(" · ".join(extra))
    yield from _steps(run, review)
    yield from _flags(review.flags)
    yield from _rest(run, review)
    yield ""
    yield review.sentence


def _steps(run: Run, review: Review) -> Iterator[str]:
    on_lines = {line.outcome for line in review.lines}
    for number, step in enumerate(run.plan.procedure.steps, start=1):
        lines = [line for line in review.lines if line.step == step.id]
        yield ""
        yield plain(f"{number}. {step.title}")
        if not lines:
            held = review.closed_steps.get(step.id)
            yield f"   closed by the hold point “{plain(held)}”" if held else "   not reached"
        for line in lines:
            yield from line_text(line)
        for result in run.results():
            if result.step == step.id and result.key is None:
                figure = f"{result.label} {format_uncertain(result.measure, result.unit)}"
                if figure not in on_lines:
                    yield from _computed(result)


def line_text(line: SheetLine) -> Iterator[str]:
    """One line of the sheet: the question with its verdict, then what was typed and read."""
    is_confirmation = line.as_read in ("confirmed", "not so")
    verdict = line.as_read if is_confirmation else line.verdict.value
    mark = " (corrected)" if line.corrected else ""
    asked = textwrap.wrap(plain(line.what), _QUESTION) or [""]
    for text in asked[:-1]:
        yield f"   {text}"
    yield f"   {asked[-1]:<{_QUESTION}} {verdict}{mark}"
    if is_confirmation:
        return
    told = plain(line.typed or line.remark)
    parts = [part for part in (plain(line.as_read), plain(line.outcome)) if part]
    detail = f"{told} → {'; '.join(parts)}" if parts else told
    yield from textwrap.wrap(detail, WIDTH, initial_indent="      ", subsequent_indent="        ")


def _computed(result: Result) -> Iterator[str]:
    where = " · ".join(part for part in (result.channel, result.load) if part)
    what = plain(f"{where} · {result.label}" if where else result.label).replace("ohm", "Ω")
    figure = format_uncertain(result.measure, result.unit)
    yield f"   = {what}: {figure}  {verdict_words(result)}"


def verdict_words(result: Result) -> str:
    """The verdict with its limit, and its probability where it is close."""
    judgement = result.judgement
    limit = f" ({judgement.limit.text})" if judgement.limit is not None else ""
    if judgement.verdict is Verdict.TOO_CLOSE and judgement.probability is not None:
        return f"{judgement.verdict}, {judgement.probability:.0%} likely inside{limit}"
    return f"{judgement.verdict}{limit}"


def _flags(flags: tuple[Flag, ...]) -> Iterator[str]:
    if flags:
        yield ""
        yield "Flags"
    for flag in flags:
        yield from flag_text(flag)


def flag_text(flag: Flag) -> Iterator[str]:
    """One flag: what was seen, the numbers, the likely cause, the next thing to try."""
    says = plain(f"[{flag.severity}] {flag.says}")
    yield from textwrap.wrap(says, WIDTH, initial_indent="   ", subsequent_indent="      ")
    evidence = "; ".join(f"{each.name} {each.value}" for each in flag.evidence)
    for word, text in (
        ("evidence", evidence),
        ("likely", "; ".join(flag.likely)),
        ("try", flag.next_try),
    ):
        yield from textwrap.wrap(
            f"{word}: {plain(text)}", WIDTH, initial_indent="      ", subsequent_indent="         "
        )


def _rest(run: Run, review: Review) -> Iterator[str]:
    if review.notes:
        yield ""
        yield "Remarks"
    for note in review.notes:
        yield f"   {plain(note.text)}"
    ended = run.state.ended
    if ended is not None and ended.get("remark"):
        yield f"   {plain(str(ended['remark']))}"
