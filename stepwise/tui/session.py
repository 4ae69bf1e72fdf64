"""What the entry is asking now, and what a line typed there does: the sheet without its glass.

Everything here happens inside the key press that causes it. When a burst is typed ahead, the
next key finds the next prompt already in place, so no reading can land on the wrong line.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from stepwise.errors import StepwiseError
from stepwise.judge import SEVERITY_ORDER, Flag, Severity
from stepwise.quantities import Answer, Refusal, Understood
from stepwise.run import (
    AnsweringBench,
    Outcome,
    Proposal,
    Run,
    SheetLine,
    Status,
    ToneClock,
)
from stepwise.steps import Prompt
from stepwise.tui.keys import BY_ENTERED
from stepwise.tui.reply import REASONS, Doubted, Mode, Reply

CONFIRM_KEYS = "y + is yes, n or - Enter no, -- Enter the last again"
"""Which keys answer where something is to be confirmed."""
CAPTURES = (".csv", ".txt", ".tsv")
"""Endings of files that are tried as captures."""


class Session:
    """One run as the sheet leads through it."""

    def __init__(self, run: Run, bench: AnsweringBench | None = None) -> None:
        self.run = run
        self.bench = bench
        self.mode = Mode.ANSWER
        self.key: str | None = None
        """The prompt that is asked, or that a reason or note is about."""
        self.selected: str | None = None
        """An earlier line that is picked out."""
        self.is_again = False
        """The prompt has an answer, and is asked again."""
        self.is_led = False
        """The question in hand is one that a hold point led to, and is not on the glass yet."""
        self.last: SheetLine | None = None
        self.seen: list[Flag] = list(run.flags())
        """Flags, gravest first; of one severity the newest first."""
        self.doubted: Doubted | None = None
        """What the person is to settle in `Mode.DOUBT`."""
        self.alarm: Flag | None = None
        """A `stop` that nobody has acknowledged yet."""
        self._draft = ""
        self._last_key: str | None = None
        self._tone_key: str | None = None
        self._proceed()
        self.alarm = next((f for f in self.seen if f.severity is Severity.STOP), None)
        if answers := run.state.answers.values():
            self._last_key = max(answers, key=lambda recorded: recorded.seq).key
            self.last = run.line(self._last_key)

    @property
    def prompt(self) -> Prompt | None:
        """The prompt in hand."""
        return self.run.prompt(self.key) if self.key is not None else None

    @property
    def is_confirm(self) -> bool:
        """Whether one key answers."""
        prompt = self.prompt
        answer = prompt.expected.answer if prompt is not None else None
        return self.mode is Mode.ANSWER and answer is Answer.CONFIRM

    def preview(self, text: str) -> Understood | Refusal | None:
        """What the text typed so far would be read as; nothing is recorded."""
        key = self._answered_by(text)
        return self.run.preview(key, text) if key is not None else None

    def foresee(self, text: str) -> None:
        """Work out ahead what the text typed so far would lead to; nothing is recorded."""
        key = self._answered_by(text)
        if key is not None:
            self.run.foresee(key, text)

    def _answered_by(self, text: str) -> str | None:
        """Key of the prompt that the text would answer; None where it is no answer."""
        plain = text.strip()
        is_answer = self.mode is Mode.ANSWER and plain and plain not in BY_ENTERED
        return self.key if is_answer else None

    def enter(self, text: str) -> Reply:
        """Enter was pressed."""
        plain = text.strip()
        aside = {
            Mode.REASON: self._enter_reason,
            Mode.NOTE: self._enter_note,
            Mode.DOUBT: self._settle,
        }.get(self.mode)
        if aside is not None:
            return aside(plain)
        if not plain:
            return self._enter_nothing()
        if plain in BY_ENTERED:
            return self.take_again() if plain == "--" else self.toggle_tone()
        if self.mode is not Mode.ANSWER or self.key is None:
            return Reply(clears=True, hint=self.standing_hint(), is_problem=True)
        if self.is_confirm:
            return self._enter_confirm(plain)
        return self._take(self.key, text)

    def confirm(self, *, is_so: bool) -> Reply:
        """A confirmation was answered with one key."""
        if not self.is_confirm or self.key is None:
            return Reply(hint="Nothing is to be confirmed here", is_problem=True)
        return self._take(self.key, "y" if is_so else "n")

    def skip(self) -> Reply:
        """Leave the prompt out, once it was said why; what is optional needs no reason."""
        prompt = self.prompt
        if self.mode is not Mode.ANSWER or prompt is None:
            return Reply(hint="There is nothing to leave out", is_problem=True)
        if prompt.hold:
            hint = "This is a hold point: it cannot be left out, later steps rest on it"
            return Reply(hint=hint, is_problem=True)
        self.mode = Mode.REASON
        # The card asks why; this has to stand on one line of 80 columns.
        none = "; Enter alone for none" if prompt.optional else ""
        return Reply(hint=f"A digit, or own words and Enter{none}; -- Enter goes back")

    def choose_reason(self, number: int) -> Reply:
        """A reason was chosen by its number, from 1."""
        if self.key is None or not 1 <= number <= len(REASONS):
            return Reply(hint=f"Reasons are 1 to {len(REASONS)}", is_problem=True)
        return self._skip(self.key, REASONS[number - 1])

    def cancel(self) -> Reply:
        """Back to the line in hand; acknowledge what is shouted."""
        if self.mode in (Mode.REASON, Mode.NOTE):
            draft, self._draft = self._draft, ""
            self.mode = Mode.ANSWER
            self._restore_mode()
            return Reply(clears=True, draft=draft or None)
        if self.mode is Mode.DOUBT:
            return self._type_again()
        if self.selected is not None:
            self.selected = None
            return Reply()
        if self.alarm is not None:
            return Reply(hint=self.acknowledge())
        if self.is_again:
            self._proceed()
        return Reply(clears=True)

    def acknowledge(self) -> str:
        """The `stop` was seen."""
        self.alarm = None
        return "Seen; it stays among the flags"

    def tone_clock(self) -> ToneClock | None:
        """The tone that runs or rests: at the line in hand, else where it was left on."""
        if self.key is not None:
            here = self.run.tone_clock(self.key)
            if here is not None:
                return here
        return self.run.tone_clock(self._tone_key) if self._tone_key is not None else None

    def take_again(self, key: str | None = None) -> Reply:
        """Ask again for a reading: the last one, or the hold point that shuts the rest."""
        wanted = key or (self.key if self.mode is Mode.SHUT else self._last_key)
        if wanted is None:
            return Reply(clears=True, hint="There is no reading yet to take again")
        if (why := self.run.closed_prompts().get(wanted)) is not None:
            return Reply(clears=True, hint=why, is_problem=True)
        self._ask(wanted, again=True)
        return Reply(clears=True, hint="Taking it again: the earlier one stays in the log")

    def move(self, by: int) -> None:
        """Pick out an earlier or a later line."""
        keys = [line.key for line in self.run.sheet()]
        if not keys or self.mode in (Mode.REASON, Mode.NOTE, Mode.DOUBT):
            return
        place = keys.index(self.selected) if self.selected in keys else len(keys)
        place = max(0, place + by)
        self.selected = keys[place] if place < len(keys) else None

    def pick(self, key: str) -> None:
        """A line was clicked."""
        self.selected = key

    def toggle_tone(self) -> Reply:
        """The tone goes on, or off."""
        prompt = self.prompt
        clock = self.tone_clock()
        is_on = clock is not None and clock.on
        if prompt is not None and prompt.tone:
            self._tone_key = prompt.key
        elif not is_on or self._tone_key is None:
            return Reply(clears=True, hint="No tone is asked for here", is_problem=True)
        try:
            self.run.tone(not is_on, self._tone_key)
        except StepwiseError as error:
            return Reply(hint=str(error), is_problem=True)
        self._collect()  # it may have been on for too long
        return Reply(clears=True, hint="Tone off: let it cool" if is_on else "Tone on")

    def begin_note(self, draft: str) -> Reply:
        """Write a remark to the line in hand; what was half typed is kept meanwhile."""
        if self.mode in (Mode.REASON, Mode.NOTE, Mode.DOUBT):
            return Reply(hint="Finish this first, or go back with Esc", is_problem=True)
        self._draft = draft
        self.mode = Mode.NOTE
        return Reply(clears=True, hint="A remark to this line, then Enter; Esc goes back")

    def answer_by_bench(self) -> Reply:
        """Let the simulated bench answer the prompt in hand."""
        if self.bench is None:
            return Reply(hint="No bench answers here: this is not a rehearsal", is_problem=True)
        if self.mode is not Mode.ANSWER or self.key is None:
            return Reply(hint=self.standing_hint(), is_problem=True)
        answer = self.bench.answer(self.run.prompt(self.key), self.run.card(self.key))
        if answer is None:
            return Reply(hint="The bench cannot tell this; answer it yourself", is_problem=True)
        return self._take(self.key, answer)

    def attach(self, path: Path) -> tuple[Reply, Proposal | None]:
        """Keep a file with the line in hand; a capture there may offer answers."""
        prompt = self.prompt
        try:
            if prompt is not None and self.takes_capture and path.suffix.casefold() in CAPTURES:
                return Reply(), self.run.attach_capture(prompt.key, path)
            self.run.attach(path, prompt.key if prompt is not None else None)
        except StepwiseError as error:
            return Reply(hint=f"Not attached: {error}", is_problem=True), None
        return Reply(hint=f"{path.name} is kept beside the journal"), None

    @property
    def takes_capture(self) -> bool:
        """Whether a capture could answer the line in hand."""
        prompt = self.prompt
        return prompt is not None and prompt.kind in ("square", "clip")

    def take_proposed(self, proposal: Proposal) -> Reply:
        """Take every answer that a capture offers; the person has looked at them."""
        reply = Reply()
        for count, line in enumerate(proposal.lines, start=1):
            reply = self._take(line.key, line.text, sure=True)
            if reply.is_problem:
                return replace(reply, clears=reply.clears or count > 1)
            reply = replace(reply, hint=f"{count} taken from the capture")
        return reply

    def standing_hint(self) -> str:
        """What the entry waits for where it takes no answer, or what has to be done at once."""
        if self.mode is Mode.DONE:
            return "Everything is answered: Enter looks at the review"
        if self.mode is Mode.SHUT:
            blocked = self.run.blocked()
            why = blocked.reason if blocked is not None else "A hold point is not satisfied"
            return f"-- Enter takes it again. {why}"
        if self.doubted is not None and self.mode is Mode.DOUBT:
            meant = ", * Enter takes what was meant" if self.doubted.slip.meant else ""
            return f"Settle the doubt first: + Enter keeps it{meant}, - Enter types it again"
        return self.run.way_out() if self.mode is Mode.ANSWER and not self.is_again else ""

    def _enter_nothing(self) -> Reply:
        if self.selected is not None:
            return self.take_again(self.selected)
        if self.is_confirm:
            # Never a confirmation: a double Enter must not say that the bench is safe.
            return Reply(hint=f"Enter confirms nothing: {CONFIRM_KEYS}")
        if self.mode is not Mode.ANSWER:
            return Reply(hint=self.standing_hint(), opens_review=self.mode is Mode.DONE)
        return Reply(hint="Nothing was typed; / leaves it out, ? explains")

    def _enter_confirm(self, plain: str) -> Reply:
        """The one answer to a confirmation that waits for Enter."""
        if plain == "-":
            return self.confirm(is_so=False)
        return Reply(clears=True, hint=f"“{plain}” is no answer here: {CONFIRM_KEYS}")

    def _settle(self, answer: str) -> Reply:
        """Only three answers settle a doubt; a reading typed ahead is never one of them."""
        doubted = self.doubted
        if self.key is None or doubted is None or answer not in ("+", "*", "-"):
            return Reply(clears=True, hint=self.standing_hint(), is_problem=True)
        if answer == "-":
            return self._type_again()
        raw = doubted.typed if answer == "+" else doubted.slip.meant
        if not raw:
            hint = "Nobody can know what was meant: + Enter keeps it, - Enter types it again"
            return Reply(clears=True, hint=hint, is_problem=True)
        return self._take(self.key, raw, sure=True)

    def _type_again(self) -> Reply:
        self.doubted, self.mode = None, Mode.ANSWER
        return Reply(clears=True, hint="Read it once more, and type it again")

    def _enter_reason(self, reason: str) -> Reply:
        prompt = self.prompt
        if reason == "--":
            return replace(self.cancel(), hint="Not left out")
        if prompt is None or not (reason or prompt.optional):
            return Reply(hint=f"A reason: 1 to {len(REASONS)}, or own words", is_problem=True)
        return self._skip(prompt.key, reason)

    def _enter_note(self, text: str) -> Reply:
        if text in ("", "--"):
            return self.cancel()
        try:
            self.run.note(text, self.key)
        except StepwiseError as error:
            return Reply(hint=str(error), is_problem=True)
        self._collect()
        return Reply(clears=True, hint="Remark kept", draft=self.cancel().draft)

    def _take(self, key: str, raw: str, *, sure: bool = False) -> Reply:
        return self._answer(lambda: self.run.take(key, raw, sure=sure), raw)

    def _skip(self, key: str, reason: str) -> Reply:
        return self._answer(lambda: self.run.skip(key, reason))

    def _answer(self, keep: Callable[[], Outcome], raw: str = "") -> Reply:
        if self.is_led:  # typed ahead, of the list that it was led away from
            return Reply(clears=True, hint=self.standing_hint(), is_problem=True)
        try:
            outcome = keep()
        except StepwiseError as error:
            return Reply(hint=f"Not kept: {error}", is_problem=True)
        return self._after(outcome, raw)

    def _after(self, outcome: Outcome, raw: str = "") -> Reply:
        if outcome.status is Status.DOUBTED and outcome.doubt is not None:
            self.doubted, self.mode = Doubted(raw, outcome.doubt), Mode.DOUBT
            return Reply(True, outcome.doubt.says, is_problem=True, outcome=outcome)
        if outcome.status is Status.REFUSED:
            if self.mode is Mode.REASON:
                self.mode = Mode.ANSWER
            return Reply(hint=outcome.message, is_problem=True, outcome=outcome)
        self.last = outcome.line or self.run.line(outcome.key)
        self._last_key = outcome.key
        if self.run.prompt(outcome.key).tone:
            self._tone_key = outcome.key
        self._collect()
        self._proceed()
        self.is_led = outcome.is_led
        if standing := self.mode is not Mode.DONE and self.standing_hint():
            return Reply(True, standing, is_problem=True, outcome=outcome)
        return Reply(clears=True, hint=self._said(outcome), outcome=outcome)

    def _said(self, outcome: Outcome) -> str:
        """What became of an answer; a confirmation names its question, since the next is there."""
        if outcome.status in (Status.CONFIRMED, Status.NOT_SO):
            ask = self.run.prompt(outcome.key).ask
            return f"{outcome.status.value}: {ask}"
        return f"kept, {outcome.message}" if outcome.status is Status.KEPT else outcome.message

    def _collect(self) -> None:
        """Take in the flags as they stand now, those that were not there before first."""
        now = {flag.identity: flag for flag in self.run.flags()}
        # A flag that says something new stands once, as it stands now.
        known = {flag.identity: now[flag.identity] for flag in self.seen if flag.identity in now}
        fresh = [flag for identity, flag in now.items() if identity not in known]
        # A note that came later must not bury a stop.
        seen = [*fresh, *known.values()]
        self.seen = sorted(seen, key=lambda flag: SEVERITY_ORDER.index(flag.severity))
        stops = [flag for flag in fresh if flag.severity is Severity.STOP]
        if stops:
            self.alarm = stops[0]
        elif self.alarm is not None and self.alarm.identity not in now:
            self.alarm = None

    def _proceed(self) -> None:
        """Go to what the run asks next."""
        prompt = self.run.next_prompt()
        self._ask(prompt.key if prompt is not None else None, again=False)

    def _ask(self, key: str | None, *, again: bool) -> None:
        self.key = key
        self.is_again = again
        self.selected = None
        self.doubted = None
        self.is_led = False
        self._draft = ""
        self.mode = Mode.ANSWER
        self._restore_mode()

    def _restore_mode(self) -> None:
        if self.is_again:
            return
        blocked = self.run.blocked()
        if self.run.ended:
            self.key, self.mode = None, Mode.DONE
        elif blocked is not None:
            self.key, self.mode = blocked.key, Mode.SHUT
        elif self.key is None:
            self.mode = Mode.DONE
