"""What the sheet shows, worked out of the session: rows, hints, and the ends of the top line."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from stepwise.judge import Verdict
from stepwise.quantities import Answer, example, with_signs
from stepwise.run import Run
from stepwise.tui.keys import BY_ID
from stepwise.tui.reply import Mode
from stepwise.tui.session import Session
from stepwise.tui.widgets.ledger import Head, Row

Hint = tuple[str, str, str]


def ledger_rows(run: Run) -> list[Row]:
    """Heads and lines; steps to come are named, so that the way ahead is in sight."""
    lines_of: dict[str, list[Row]] = {}
    for line in run.sheet():
        lines_of.setdefault(line.step, []).append(line)
    # Before a hold point is asked at all, everything is shut, and saying so helps nobody.
    held = run.held_prompts()
    answered = {key for key in set(held.values()) if run.line(key) is not None}
    closed = {run.prompt(key).step for key, holding in held.items() if holding in answered}
    stopped = {run.prompt(key).step for key in run.closed_prompts().keys() - held.keys()}
    rows: list[Row] = []
    for number, step in enumerate(run.plan.procedure.steps, start=1):
        lines = lines_of.get(step.id, [])
        shut = " · shut by a hold point" if step.id in closed else ""
        if not shut and step.id in stopped:
            shut = " · shut by a stop"
        rows.append(Head(f" {number:>2}  {step.title}{shut}", is_ahead=not lines))
        rows.extend(lines)
    return rows


def unlike_words(run: Run) -> tuple[str, ...]:
    """What the sheet holds that is not as it should be, whether or not a flag says so too."""
    lines = run.sheet()
    unlike = [f"✗ not so: {line.what}" for line in lines if line.answer == "refuse"]
    if unlike and (blocked := run.blocked()) is not None:
        unlike.append(f"{blocked.reason.partition(':')[0]}.")
    if way_out := run.way_out():
        unlike.append(f"{way_out}.")
    out = sum(line.verdict is Verdict.OUT_OF_SPEC and line.answer == "reading" for line in lines)
    if out:
        unlike.append(f"✗ {out} out of spec in the sheet")
    return tuple(unlike)


def top_ends(session: Session) -> tuple[str, str]:
    """What is tested, and how far it is."""
    run = session.run
    rehearsal = "Rehearsal · " if session.bench is not None else ""
    left = f"{rehearsal}{run.plan.unit.name} · {run.plan.procedure.title}"
    stops = sum(flag.severity.value == "stop" for flag in run.flags())
    stop = f"■ {stops} stop · " if stops else ""
    return left, f"{stop}{len(run.sheet())} of {len(run.prompts)} taken"


def hints(session: Session) -> list[Hint]:
    """The keys that matter now, the way out first."""
    if session.mode in (Mode.REASON, Mode.NOTE, Mode.DOUBT):
        return _aside_hints(session)
    found: list[Hint] = [("Ctrl+Q", "leave", "app.leave"), _hint("sheet.help")]
    if session.mode is Mode.DONE:
        return [*found, ("Enter", "review", "sheet.review"), _hint("sheet.again")]
    if session.mode is Mode.SHUT:
        return [*found, _hint("sheet.again"), _hint("sheet.review"), _hint("sheet.note")]
    if session.is_confirm:
        # With the way back next to them, and all of it within 80 columns.
        found += [("y +", "it is so", ""), ("n, - Enter", "not so", ""), _hint("sheet.again")]
    elif session.selected is not None:
        return [*found, ("Enter", "take this again", ""), _hint("sheet.cancel")]
    if session.bench is not None:
        found.append(_hint("sheet.bench"))
    prompt = session.prompt
    if prompt is not None and not prompt.hold:
        found.append(_hint("sheet.skip"))
    if prompt is not None and prompt.tone:
        found.append(_hint("sheet.tone"))
    again = [] if session.is_confirm else [_hint("sheet.again")]
    return [*found, *again, _hint("sheet.note")]


def _aside_hints(session: Session) -> list[Hint]:
    """Where something else than the answer is asked."""
    if session.mode is Mode.DOUBT:
        return _doubt_hints(session)
    back: list[Hint] = [_hint("sheet.cancel"), ("-- Enter", "back", "sheet.cancel")]
    if session.mode is Mode.NOTE:
        return [*back, ("Enter", "keep", "")]
    is_optional = session.prompt is not None and session.prompt.optional
    return [*back, ("1-6", "reason", ""), *([("Enter", "no reason", "")] * is_optional)]


def _doubt_hints(session: Session) -> list[Hint]:
    settle: list[Hint] = [("+ Enter", "keep as typed", "")]
    if session.doubted is not None and session.doubted.slip.meant:
        settle.append(("* Enter", "take what was meant", ""))
    return [*settle, ("- Enter", "type it again", "sheet.cancel"), _hint("sheet.help")]


_PLACEHOLDERS: Mapping[Mode, str] = MappingProxyType(
    {
        Mode.REASON: "1 to 6, or own words",
        Mode.NOTE: "a remark",
        Mode.DOUBT: "+ keeps it, * takes what was meant, - types it again",
        Mode.SHUT: "-- Enter takes the hold point again",
        Mode.DONE: "Enter looks at the review",
    }
)


def placeholder(session: Session) -> str:
    """What stands in the empty entry: how an answer may look."""
    prompt = session.prompt
    if session.mode in _PLACEHOLDERS or prompt is None:
        return _PLACEHOLDERS.get(session.mode, "")
    if session.is_confirm:
        return "y or + if it is so, n or - Enter if it is not"
    if prompt.expected.answer is Answer.MARK:
        return "0 to 10"
    return f"for instance: {example(prompt.expected)}"


def unit_sign(session: Session) -> str:
    """The unit that is taken when none is typed."""
    prompt = session.prompt
    if prompt is None or session.mode is not Mode.ANSWER:
        return ""
    expected = prompt.expected
    return with_signs(f"{expected.unit} {expected.form}".strip())


def _hint(command: str) -> Hint:
    known = BY_ID[command]
    return (known.shown, known.word, command)
