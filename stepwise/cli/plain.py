"""The run as printed lines and plain input: for screen readers, dumb terminals and scripts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.cli.own_name import as_called
from stepwise.cli.plain_card import (
    answer_lines,
    blocked_lines,
    doubt_lines,
    help_lines,
    led_lines,
    offer_lines,
    outcome_lines,
    proposal_lines,
    question_lines,
    reason_lines,
    setting_lines,
    step_lines,
    tone_line,
    way_out_lines,
)
from stepwise.cli.printing import print_left, print_lines, print_run, verdict_code
from stepwise.errors import CaptureError, RunError
from stepwise.judge import Severity
from stepwise.report import hanging
from stepwise.run import Status
from stepwise.safe_text import plain

if TYPE_CHECKING:
    from stepwise.judge.slips import Slip
    from stepwise.quantities import Expected
    from stepwise.run import AnsweringBench, Outcome, Run, ToneClock
    from stepwise.steps import Prompt, Setting

_BELL = "\a"
_LOUD = (Severity.STOP, Severity.WRONG)


def _kind_of(expected: Expected) -> tuple[str, str]:
    return expected.answer.value, expected.unit


@dataclass(frozen=True, slots=True)
class _InDoubt:
    """An answer that is probably a slip, until the person says what it is."""

    key: str
    typed: str
    slip: Slip


class PlainRun:
    """One run, a line at a time.

    Every line is either a command or the answer to the prompt that was printed last. Where a
    hold point keeps everything shut, nothing typed ahead counts as taking it again; where it leads
    to what makes the board dead, nothing typed ahead counts as done; and while an answer is in
    doubt, nothing typed ahead counts as the next one.
    """

    def __init__(self, run: Run, bench: AnsweringBench | None, *, bell: bool) -> None:
        self._run = run
        self._bench = bench
        self._bell = bell
        self._again: str | None = None
        """An earlier prompt that is being asked once more."""
        self._last: str | None = None
        self._doubt: _InDoubt | None = None
        self._left_out: str | None = None
        """Key of the prompt that is to be left out, while it is asked why."""
        self._offered: dict[str, str] = {}
        """Key of a prompt -> what a capture offers for it."""
        self._is_led = False
        """A hold point led away from the list in hand, and Enter alone is waited for."""
        self._told_step = ""
        self._told_settings: tuple[Setting, ...] = ()
        self._told_answers: set[tuple[str, str]] = set()
        """Kinds of answer, with their units, of which was said how they are typed."""
        self._is_left = False

    def lead(self) -> int:
        """Ask until the run is ended or left; gives the exit code.

        Raises:
            JournalError: An answer could not be put on disk.
        """
        while not self._is_left and not self._run.ended:
            self._ask()
            try:
                line = input("> ").strip()
            except EOFError:
                print()
                self._is_left = True
            else:
                self._handle(line)
        if self._run.ended:
            print()
            return print_run(self._run, self._bench)
        print_left(self._run)
        return verdict_code(self._run)

    # What is asked

    @property
    def _key(self) -> str | None:
        """The prompt that an answer goes to; None where nothing is asked."""
        if self._again is not None or self._is_led:
            return self._again
        prompt = self._run.next_prompt()
        return prompt.key if prompt is not None and self._run.blocked() is None else None

    def _ask(self) -> None:
        if self._doubt is not None:
            print_lines(doubt_lines(self._doubt.typed, self._doubt.slip))
            return
        if self._left_out is not None:
            print_lines(reason_lines(self._run.prompt(self._left_out)))
            return
        if (key := self._key) is None:
            self._tell_why_nothing()
            return
        card = self._run.card(key)
        if self._again is None:
            print_lines(way_out_lines(self._run.way_out()))
        if card.prompt.step != self._told_step:
            self._told_step = card.prompt.step
            print_lines(step_lines(card))
        if card.settings != self._told_settings:
            self._told_settings = card.settings
            print_lines(setting_lines(card.settings))
        self._tell_tone(self._run.tone_clock(key))
        print_lines(question_lines(card))
        self._tell_answer(card.prompt)
        if (offer := self._offered.get(key)) is not None:
            print_lines(offer_lines(offer))
        if self._bench is not None:
            print_lines(setting_lines(self._bench.panel(card.prompt, card)))

    def _tell_why_nothing(self) -> None:
        """Why nothing is asked, and what can be done."""
        if self._is_led:
            print_lines(led_lines(self._run.way_out()))
        elif (blocked := self._run.blocked()) is not None:
            print_lines(blocked_lines(blocked))
        else:
            print("\nEverything is answered. Type end, or end and a remark, to end the run.")

    # What is typed

    def _handle(self, line: str) -> None:
        try:
            self._do(line)
        except (RunError, CaptureError) as error:
            print_lines(hanging(plain(as_called(str(error))), "  ", "    "))

    def _do(self, line: str) -> None:
        if self._doubt is not None:
            self._settle(self._doubt, line)
            return
        if self._left_out is not None and line != "quit":
            self._reason(self._left_out, line)
            return
        if not line:
            self._is_led = False
            self._told_settings = ()  # the question is said again, with what to set
            return
        name, rest = self._command(line)
        if name:
            self._commands()[name](rest)
        elif (key := self._key) is None:
            print("  Nothing is asked now; this was not kept")
            if line.casefold() in ("q", "exit"):
                print("  quit leaves; the run can be carried on later")
        else:
            self._took(key, line)

    def _settle(self, doubt: _InDoubt, line: str) -> None:
        """Three answers settle a doubt; whatever else was typed ahead is not kept."""
        if line == "+":
            self._told(self._run.take(doubt.key, doubt.typed, sure=True))
        elif line == "*" and doubt.slip.meant:
            self._told(self._run.take(doubt.key, doubt.slip.meant, sure=True))
        elif line == "-":
            print("  Type it again")
        elif line == "*":
            print("  Nobody can tell what was meant: + keeps it as typed, - types it again")
            return
        else:
            print("  Not kept: the answer before is in doubt, and only +, * or - settle it")
            return
        self._doubt = None

    def _took(self, key: str, text: str) -> None:
        outcome = self._run.take(key, text)
        if outcome.doubt is not None:
            self._doubt = _InDoubt(key, text, outcome.doubt)
            self._ring()
        else:
            self._told(outcome)

    def _command(self, line: str) -> tuple[str, str]:
        """A command and the rest of its line; no command where the line is an answer."""
        word, _, rest = line.partition(" ")
        if line in ("quit", "end", "?", "*") or (line == "+" and self._has_tone()):
            return line, ""
        if word in ("--", ":capture", ":take") or (word == "end" and self._key is None):
            return word, rest.strip()
        if line[0] in "#/":
            return line[0], line[1:].strip()
        return "", ""

    def _commands(self) -> Mapping[str, Callable[[str], None]]:
        return {
            "quit": self._leave,
            "end": self._end,
            "#": self._note,
            "/": self._skip,
            "--": self._take_again,
            ":capture": self._attach_capture,
            ":take": self._take_offer,
            "?": self._help,
            "*": self._let_bench_answer,
            "+": self._switch_tone,
        }

    def _leave(self, _: str) -> None:
        self._is_left = True

    def _end(self, remark: str) -> None:
        blocked = self._run.blocked()
        if blocked is not None:
            said = f"{blocked.reason}; it ends as not complete"
            print_lines(hanging(plain(said), "  ", "    "))
        elif self._key is not None and not self._run.is_complete():
            print("  Not everything is answered; the run ends as not complete")
        self._run.end(remark)

    def _note(self, text: str) -> None:
        self._run.note(text, self._key)
        print("  Remark kept")

    def _skip(self, reason: str) -> None:
        if (key := self._key) is None:
            raise RunError("There is nothing to leave out")
        prompt = self._run.prompt(key)
        if reason or prompt.hold:
            self._told(self._run.skip(key, reason))
        else:
            self._left_out = key

    def _reason(self, key: str, line: str) -> None:
        """The line after a `/` alone: the reason, or none, or a way back."""
        self._left_out = None
        if line == "--":
            print("  Not left out")
        else:
            self._told(self._run.skip(key, line.removeprefix("/").strip()))

    def _take_again(self, key: str) -> None:
        blocked = self._run.blocked()
        wanted = key or (blocked.key if blocked is not None else self._last)
        if wanted is None:
            raise RunError("There is no reading yet to take again")
        prompt = self._run.prompt(wanted)
        if (why := self._run.closed_prompts().get(prompt.key)) is not None:
            raise RunError(why)
        self._again = prompt.key
        print("  Taking it again; the earlier one stays in the log")

    def _attach_capture(self, path: str) -> None:
        if (key := self._key) is None:
            raise RunError("Nothing is asked now that a capture could answer")
        if not path:
            raise RunError("Name the file: :capture FILE.csv")
        proposal = self._run.attach_capture(key, Path(path).expanduser())
        self._offered |= {line.key: line.text for line in proposal.lines}
        print_lines(proposal_lines(proposal))

    def _take_offer(self, _: str) -> None:
        key = self._key
        if key is None or key not in self._offered:
            raise RunError("No capture offers an answer here; :capture FILE.csv attaches one")
        self._took(key, self._offered[key])

    def _help(self, _: str) -> None:
        blocked = self._run.blocked()
        key = self._key or (blocked.key if blocked is not None else self._last)
        if key is None:
            raise RunError("Nothing is asked now: end ends the run, quit leaves it")
        print_lines(help_lines(self._run.card(key), blocked if self._again is None else None))

    def _let_bench_answer(self, _: str) -> None:
        if self._bench is None:
            raise RunError("No bench answers here: this is not a rehearsal")
        if (key := self._key) is None:
            raise RunError(
                "Nothing is asked now that the bench could answer; ? says what can be done"
            )
        answer = self._bench.answer(self._run.prompt(key), self._run.card(key))
        if answer is None:
            raise RunError("The simulated bench cannot tell this; answer it yourself")
        print(f"  The bench answers: {answer}")
        self._took(key, answer)

    def _has_tone(self) -> bool:
        return self._key is not None and self._run.prompt(self._key).tone

    def _switch_tone(self, _: str) -> None:
        clock = self._run.tone_clock(self._key)
        is_on = clock is not None and clock.on
        self._run.tone(not is_on, self._key)
        print("  Tone off: let it cool" if is_on else "  Tone on")

    # What is told

    def _told(self, outcome: Outcome) -> None:
        print_lines(outcome_lines(outcome))
        if outcome.status is Status.REFUSED:
            self._told_answers.discard(_kind_of(self._run.prompt(outcome.key).expected))
            return
        self._again, self._last = None, outcome.key
        self._is_led = outcome.is_led
        self._offered.pop(outcome.key, None)
        if any(flag.severity in _LOUD for flag in outcome.flags):
            self._ring()

    def _tell_answer(self, prompt: Prompt) -> None:
        """Say how such a question is answered, once."""
        expected = prompt.expected
        if (kind := _kind_of(expected)) not in self._told_answers:
            self._told_answers.add(kind)
            print_lines(answer_lines(expected, has_bench=self._bench is not None))

    def _tell_tone(self, clock: ToneClock | None) -> None:
        said = tone_line(clock) if clock is not None else ""
        if said:
            print(said)
        if clock is not None and clock.on and clock.over > 0.0:
            self._ring()

    def _ring(self) -> None:
        if self._bell:
            print(_BELL, end="", flush=True)
