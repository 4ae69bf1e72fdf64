"""What the plain mode prints of a prompt and of an outcome, as finished lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType

from stepwise.judge.slips import Slip
from stepwise.quantities import Answer, Expected, example
from stepwise.report import flag_text, hanging, line_text
from stepwise.run import Blocked, Card, Outcome, Proposal, ToneClock
from stepwise.safe_text import plain
from stepwise.steps import Prompt, Setting

_COMMANDS = (
    ("/ REASON", "leave it out; / alone asks why"),
    ("--", "take the last reading again; -- KEY takes an earlier one again"),
    ("# TEXT", "keep a remark"),
    (":capture FILE", "attach a trace of the oscilloscope; :take takes what it offers here"),
    ("+", "the tone is on, or off again"),
    ("*", "let the simulated bench answer, in a rehearsal"),
    ("end", "end the run; a closing remark may follow"),
    ("quit", "leave; the run can be carried on later"),
    ("Enter", "say the question again"),
)

_HOW_TO_ANSWER: Mapping[Answer, str] = MappingProxyType(
    {
        Answer.CONFIRM: "y where it is so, n where it is not",
        Answer.TEXT: "write it in your own words",
        Answer.MARK: "a number from 0 to 10",
    }
)


def step_lines(card: Card) -> Iterator[str]:
    """Said once, before the first prompt of a step."""
    yield ""
    title = f"Step {card.step_number} of {card.of_steps}: {card.step_title}"
    yield from hanging(plain(title))
    yield from hanging(plain(card.why), "  ", "  ")
    for caution in card.cautions:
        yield from hanging(plain(caution), "  CAUTION: ", "  ")


def setting_lines(settings: Iterable[Setting]) -> Iterator[str]:
    """What to set, or what the instruments show."""
    for setting in settings:
        yield from hanging(plain(f"{setting.what}: {setting.to}"), "  ", "    ")


def question_lines(card: Card) -> Iterator[str]:
    """The question itself, with what an answer is held against."""
    prompt = card.prompt
    asides = [prompt.meter_hint, card.limit_text, "optional" if prompt.optional else ""]
    aside = "; ".join(each for each in asides if each)
    said = f"{card.number} of {card.of}: {prompt.ask}" + (f" ({aside})" if aside else "")
    yield from hanging(plain(said), "", "  ")


def answer_lines(expected: Expected, *, has_bench: bool) -> Iterator[str]:
    """What may be typed, shortly: said with the first question of a kind, and after a refusal.

    Args:
        expected: What the prompt expects.
        has_bench: Whether a simulated bench could answer too.
    """
    said = _HOW_TO_ANSWER.get(expected.answer) or f"write for instance {example(expected)}"
    bench = ", * lets the bench answer" if has_bench else ""
    yield from hanging(plain(f"{said[:1].upper()}{said[1:]}; ? tells more{bench}"), "  ", "    ")


def help_lines(card: Card, blocked: Blocked | None) -> Iterator[str]:
    """Why and how, how it is written, and what else may be typed.

    Args:
        card: Of the prompt in hand, or of the hold point that shuts everything.
        blocked: That hold point, where no answer is taken until it is taken again.
    """
    if blocked is not None:
        yield from hanging(plain(f"Nothing is asked now. {blocked.reason}."), "  ", "    ")
        said = "See to it first. Then -- asks it again; end ends the run as it is, and quit leaves"
        yield from hanging(said, "  ", "    ")
    for paragraph in (card.why, *card.how.strip().splitlines(), *card.cautions):
        yield from hanging(plain(paragraph), "  ", "    ")
    written = example(card.prompt.expected)
    yield from hanging(plain(f"Write for instance {written}"), "  ", "    ")
    yield from hanging(plain(f"Key of this reading: {card.prompt.key}"), "  ", "    ")
    for command, meaning in _COMMANDS:
        yield from hanging(meaning, f"  {command:<13} ", " " * 16)


def proposal_lines(proposal: Proposal) -> Iterator[str]:
    """What a capture shows, and what it offers to the prompts of its picture."""
    yield from hanging(plain(proposal.says), "  ", "    ")
    for line in proposal.lines:
        yield from hanging(plain(f"{line.key}: {line.text}"), "  offered ", "    ")
    said = "Nothing is entered yet: :take takes what is offered where it is asked"
    if not proposal.lines:
        said = "It answers nothing that is asked here; the file is kept"
    yield from hanging(said, "  ", "    ")


def offer_lines(text: str) -> Iterator[str]:
    """What a capture offers for the question in hand."""
    yield from hanging(plain(f"The capture offers {text}; :take takes it"), "  ", "    ")


def blocked_lines(blocked: Blocked) -> Iterator[str]:
    """A hold point that keeps everything else shut."""
    said = f"Type -- to take it again, ? for help, or quit to leave. {blocked.reason}."
    yield from hanging(plain(said), "  ", "    ")


def way_out_lines(way_out: str) -> Iterator[str]:
    """What is to be done at once, where a hold point leaves only that open; else nothing."""
    if way_out:
        yield from hanging(plain(f"{way_out}."), "  ! ", "    ")


def led_lines(way_out: str) -> Iterator[str]:
    """The same where nothing that was typed ahead may count as done."""
    yield from hanging(plain(f"{way_out}. Enter alone goes there."), "  ! ", "    ")


def doubt_lines(typed: str, slip: Slip) -> Iterator[str]:
    """An answer that is probably a slip, and the three answers that settle it."""
    yield from hanging(plain(f"{slip.says}."), "  ? ", "    ")
    yield from hanging(plain(f"keep “{typed}” as it was typed"), "  +  ", "     ")
    if slip.meant:
        said = f"take “{slip.meant}” instead: {slip.meant_echo}"
        yield from hanging(plain(said), "  *  ", "     ")
    yield from hanging("type it again", "  -  ", "     ")


def reason_lines(prompt: Prompt) -> Iterator[str]:
    """Why a prompt is left out, where that was not said with it."""
    none = "Enter alone gives no reason, " if prompt.optional else ""
    said = f"Say why it is skipped, in own words; {none}-- goes back"
    yield from hanging(said, "  ", "    ")


def tone_line(clock: ToneClock) -> str:
    """How long the tone has been on, or how much rest is still wanted; empty where all is well."""
    if clock.on:
        late = f", {clock.over:.0f} s too long: switch it off" if clock.over > 0.0 else ""
        return f"  Tone on for {clock.since:.0f} s{late}"
    if clock.allowed is not None and clock.over < 0.0:
        return f"  Let it rest {-clock.over:.0f} s more with the tone off"
    return ""


def outcome_lines(outcome: Outcome) -> Iterator[str]:
    """What an answer led to: the echo, the line of the sheet, new flags and those that are gone."""
    yield from hanging(plain(outcome.message), "  ", "    ")
    if outcome.line is not None:
        yield from line_text(outcome.line)
    for flag in outcome.flags:
        yield from flag_text(flag)
    for flag in outcome.cleared:
        yield from hanging(plain(f"gone: {flag.name} ({flag.says})"), "   ", "     ")
