"""The run: one unit taken through one procedure, and the only thing that writes its journal.

A run is the fold of its journal. Every answer carries the key of the prompt that it answers,
is on disk before anyone is told that it was kept, and gives back one `Outcome` with everything
a front end shows. Results, verdicts and flags are worked out again from the answers each time;
what was shown is recorded beside the answer, so that a later version that computes differently
can say so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from stepwise.errors import JournalError, RunError
from stepwise.journal import Journal, Recorded, RecordState, StateBuilder, new_log_folder
from stepwise.judge import Findings, Flag, Result
from stepwise.judge.flags import find_flags
from stepwise.quantities import Expected, Refusal, Understood, parse_entry
from stepwise.run.answers import Ready, filled_expected, make_ready
from stepwise.run.awaited import awaited_keys
from stepwise.run.cards import make_card
from stepwise.run.curve import sweep_curve
from stepwise.run.keeper import Keeper
from stepwise.run.outcome import Blocked, Card, Curve, Outcome, SheetLine, Status, ToneClock
from stepwise.run.plan import Plan, begin_data, plan_from_begin
from stepwise.run.progress import Progress, work_out_progress
from stepwise.run.review import Review, make_review
from stepwise.run.sheet import sheet_lines
from stepwise.run.shown import fresh_results, shown_data
from stepwise.run.tones import ToneTimes, tone_clock, tone_spans, tone_times
from stepwise.steps import KINDS, Prompt, SweepFields, Workings, flag_facts

Clock = Callable[[], datetime]


class Run:
    """One unit, one procedure, one bench, one journal."""

    def __init__(self, plan: Plan, journal: Keeper, clock: Clock) -> None:
        self.plan = plan
        self._journal = journal
        self._clock = clock
        self._workings = Workings(plan.procedure.steps, KINDS, plan.scene)
        self.prompts: tuple[Prompt, ...] = self._workings.prompts
        """Every prompt of the run, in order."""
        self._by_key = {prompt.key: prompt for prompt in self.prompts}
        self._steps = {step.id: step for step in plan.procedure.steps}
        self._flag_facts = flag_facts(plan.scene)
        self._builder = StateBuilder()
        for event in journal.events:
            self._builder.add(event)
        self._refresh()

    @classmethod
    def start(  # noqa: PLR0913, what the first line of a journal says
        cls,
        plan: Plan,
        logs: Path,
        clock: Clock,
        *,
        operator: str = "",
        episode: str = "",
        rehearsal: Mapping[str, object] | None = None,
        transcribing: bool = False,
    ) -> Self:
        """Begin a run in a new folder under `logs`.

        Raises:
            JournalError: The folder or the journal cannot be written.
        """
        now = clock()
        folder = new_log_folder(logs, plan.unit.name, now.date())
        journal = Journal.create(folder)
        data = begin_data(plan, operator=operator, episode=episode, rehearsal=rehearsal)
        data["transcribed"] = transcribing
        try:
            journal.append("begin", data, now)
        except JournalError:
            journal.close()
            raise
        return cls(plan, journal, clock)

    @classmethod
    def resume(cls, folder: Path, clock: Clock) -> Self:
        """Carry on with a run exactly where it stopped.

        Raises:
            JournalError: The log is held by another program, damaged, or no run of ours.
        """
        journal = Journal.open(folder)
        try:
            begin = journal.events[0].data if journal.events else {}
            run = cls(plan_from_begin(begin, folder), journal, clock)
            journal_event = journal.append("resume", {}, clock())
        except BaseException:
            journal.close()
            raise
        run._builder.add(journal_event)
        run._refresh()
        return run

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the journal; the run can be resumed."""
        self._journal.close()

    @property
    def folder(self) -> Path:
        """Folder of the log."""
        return self._journal.path.parent

    @property
    def set_aside(self) -> Path | None:
        """Where a torn last line was put when the log was opened; None if there was none."""
        return self._journal.set_aside

    @property
    def ended(self) -> bool:
        """Whether the run was ended."""
        return self._state.ended is not None

    @property
    def transcribed(self) -> bool:
        """Whether it was noted elsewhere and entered afterwards: hold points close nothing."""
        return self._state.begin.get("transcribed") is True

    @property
    def state(self) -> RecordState:
        """The recorded facts."""
        return self._state

    # What is asked

    def prompt(self, key: str) -> Prompt:
        """The prompt of that key.

        Raises:
            RunError: There is no such prompt in this run.
        """
        try:
            return self._by_key[key]
        except KeyError:
            raise RunError(f"this run asks nothing called “{key}”") from None

    def next_prompt(self) -> Prompt | None:
        """The prompt to ask now; None when nothing is open."""
        key = self._progress.next_key
        return self._by_key[key] if key is not None and not self.ended else None

    def blocked(self) -> Blocked | None:
        """The hold point that keeps everything else shut, where that is so."""
        return self._progress.blocked

    def is_complete(self) -> bool:
        """Whether everything that can be asked has an answer."""
        return self._progress.is_complete

    def closed_steps(self) -> Mapping[str, str]:
        """Step id -> key of the hold point that closes it."""
        return self._progress.closed_steps

    def expected(self, key: str) -> Expected:
        """What the prompt expects, with the last reading and the reference filled in."""
        return filled_expected(self.prompt(key), self._by_key, self._state)

    def preview(self, key: str, raw: str) -> Understood | Refusal | None:
        """What the text would be understood as; None for no text. Records nothing."""
        return parse_entry(raw, self.expected(key)) if raw.strip() else None

    def card(self, key: str) -> Card:
        """Everything that the card of a prompt shows."""
        return make_card(self.prompt(key), self.prompts, self.plan, self._workings, self._results)

    # What is answered

    def take(self, key: str, raw: str) -> Outcome:
        """Take an answer, or correct an earlier one.

        Raises:
            RunError: There is no such prompt.
            JournalError: The answer could not be put on disk; it is not kept.
        """
        prompt = self.prompt(key)
        refusal = self._why_not(prompt)
        if refusal:
            return self._refused(key, refusal)
        ready = make_ready(prompt, raw, self.expected(key))
        if isinstance(ready, Refusal):
            return self._refused(key, ready.sentence)
        status = {"confirm": Status.CONFIRMED, "refuse": Status.NOT_SO}.get(ready.kind, Status.KEPT)
        return self._record(prompt, ready, status)

    def skip(self, key: str, reason: str = "") -> Outcome:
        """Leave a prompt out, with a reason unless it is optional.

        Raises:
            RunError: There is no such prompt.
            JournalError: The skip could not be put on disk.
        """
        prompt = self.prompt(key)
        refusal = self._why_not(prompt)
        if not refusal and prompt.hold and not self.transcribed:
            refusal = "A hold point cannot be skipped: satisfy it, or end the run"
        if not refusal and not reason.strip() and not prompt.optional:
            refusal = "Say why it is skipped"
        if refusal:
            return self._refused(key, refusal)
        data = {"key": key, "typed": "", "reason": reason.strip() or "optional, not taken"}
        return self._record(prompt, Ready("skip", data, "Skipped"), Status.SKIPPED)

    def note(self, text: str, key: str | None = None) -> None:
        """Keep a remark, on a prompt or on the whole run."""
        if not text.strip():
            raise RunError("an empty remark says nothing")
        self._append("note", {"key": key, "text": text.strip()})

    def end(self, remark: str = "") -> Review:
        """End the run; it can be opened again by resuming it."""
        if not self.ended:
            review = self.review()
            data = {"remark": remark.strip(), "verdict": review.verdict.value}
            self._append("end", data | {"complete": review.complete})
        return self.review()

    # The tone

    def tone(self, on: bool, key: str | None = None) -> ToneClock | None:
        """Say that the tone was switched on or off, at a prompt or at the one in hand."""
        prompt = self.prompt(key) if key is not None else self.next_prompt()
        if prompt is None or not prompt.tone:
            raise RunError("no tone is asked for here")
        self._append("tone", {"key": prompt.key, "state": "on" if on else "off"})
        return self.tone_clock(prompt.key)

    def tone_clock(self, key: str | None = None) -> ToneClock | None:
        """The tone at a prompt, by default the one in hand; None where none is asked for."""
        prompt = self.prompt(key) if key is not None else self.next_prompt()
        if prompt is None:
            return None
        return tone_clock(self._tones, self._steps, prompt, self._clock())

    # What it shows

    def sheet(self) -> tuple[SheetLine, ...]:
        """The answered lines, in the order of the procedure."""
        return self._lines

    def line(self, key: str) -> SheetLine | None:
        """The line of a prompt, or None while it has no answer."""
        return self._line_by_key.get(key)

    def results(self) -> tuple[Result, ...]:
        """All results, in the order of the procedure."""
        return self._results

    def findings(self) -> Findings:
        """What flags are found in, as of now."""
        return self._findings(self._results, self._state.answers)

    def flags(self) -> tuple[Flag, ...]:
        """All flags, worst first."""
        return self._flags

    def curve(self, step: str, channel: str | None) -> Curve | None:
        """A sweep so far; None where the step is none."""
        fields = self._steps.get(step)
        if not isinstance(fields, SweepFields):
            return None
        return sweep_curve(fields, channel, self._results)

    def review(self) -> Review:
        """Everything that was found, and what it comes to."""
        closed = {step: self._by_key[key].ask for step, key in self._progress.closed_steps.items()}
        return make_review(
            self._lines, self._results, self._flags, closed, self._state.notes,
            complete=self.is_complete(),
        )  # fmt: skip

    # Inside

    def _why_not(self, prompt: Prompt) -> str:
        if self.ended:
            return "The run is ended; open it again to add to it"
        held_by = self._progress.closed_steps.get(prompt.step)
        if held_by is not None:
            return f"Closed until the hold point “{self._by_key[held_by].ask}” is satisfied"
        return ""

    def _refused(self, key: str, message: str) -> Outcome:
        return Outcome(Status.REFUSED, key, message, next_key=self._progress.next_key)

    def _record(self, prompt: Prompt, ready: Ready, status: Status) -> Outcome:
        """Work out what an answer leads to, put both on disk, and only then give it back."""
        before_results, before_flags = self._results, self._flags
        results, flags = self._foresee(prompt, ready)
        fresh = fresh_results(results, before_results)
        known = {flag.identity for flag in before_flags}
        new_flags = tuple(flag for flag in flags if flag.identity not in known)
        remaining = {flag.identity for flag in flags}
        data = {**ready.data, "shown": shown_data(fresh, new_flags)}
        self._append(ready.kind, data)
        return Outcome(
            status=status,
            key=prompt.key,
            message=ready.echo,
            line=self.line(prompt.key),
            results=fresh,
            flags=new_flags,
            cleared=tuple(flag for flag in before_flags if flag.identity not in remaining),
            next_key=self._progress.next_key,
        )

    def _foresee(self, prompt: Prompt, ready: Ready) -> tuple[tuple[Result, ...], tuple[Flag, ...]]:
        recorded = Recorded(
            seq=self._journal.events[-1].seq + 1,
            at="",
            key=prompt.key,
            typed=str(ready.data.get("typed", "")),
            kind=ready.kind,
            data=ready.data,
        )
        answers = {**self._state.answers, prompt.key: recorded}
        results = self._workings.results(answers)
        return results, find_flags(self._findings(results, answers))

    def _append(self, kind: str, data: Mapping[str, object]) -> None:
        self._builder.add(self._journal.append(kind, data, self._clock()))
        self._refresh()

    def _findings(self, results: Sequence[Result], answers: Mapping[str, Recorded]) -> Findings:
        # What was noted elsewhere was not timed: the times of its entry say nothing.
        spans = () if self.transcribed else tone_spans(self._tones, self._steps, self._clock())
        awaited = frozenset() if self.ended else awaited_keys(self.prompts, answers)
        return Findings(tuple(results), self._flag_facts, spans, awaited)

    def _refresh(self) -> None:
        """Work everything out from the recorded facts."""
        self._state: RecordState = self._builder.state()
        self._results: tuple[Result, ...] = self._workings.results(self._state.answers)
        self._tones: tuple[ToneTimes, ...] = tone_times(self.prompts, self._state)
        self._flags: tuple[Flag, ...] = find_flags(
            self._findings(self._results, self._state.answers)
        )
        self._progress: Progress = work_out_progress(
            self.plan.procedure.steps, self.prompts, self._state.answers, self._results,
            holds_close=not self.transcribed,
        )  # fmt: skip
        self._lines: tuple[SheetLine, ...] = sheet_lines(
            self.prompts, self._state, self._results, self._progress.closed_steps
        )
        self._line_by_key = {line.key: line for line in self._lines}
