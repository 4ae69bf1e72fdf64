"""The run: one unit taken through one procedure, and the only thing that writes its journal.

A run is the fold of its journal. Every answer carries the key of the prompt that it answers,
is on disk before anyone is told that it was kept, and gives back one `Outcome` with everything
a front end shows. Results, verdicts and flags are worked out again from the answers each time;
what was shown is recorded beside the answer, so that a later version that computes differently
can say so.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Self

from stepwise.errors import JournalError, RunError
from stepwise.journal import (
    Attachment,
    Journal,
    RecordState,
    attach_file,
    new_log_folder,
)
from stepwise.judge import Findings, Flag, Result
from stepwise.judge.slips import Slip
from stepwise.quantities import Expected, Refusal, Understood, parse_entry
from stepwise.run.answers import Ready, filled_expected
from stepwise.run.attach_capture import Proposal, attach_capture, same_picture
from stepwise.run.cards import make_card
from stepwise.run.curve import sweep_curve
from stepwise.run.doubts import read_answer
from stepwise.run.keeper import Keeper
from stepwise.run.outcome import Blocked, Card, Curve, Outcome, SheetLine, Status, ToneClock
from stepwise.run.plan import Plan, begin_data, plan_from_begin
from stepwise.run.recorder import Clock, Recorder
from stepwise.run.review import Review, make_review
from stepwise.run.standing import Standings
from stepwise.run.tones import tone_clock
from stepwise.run.trace import Trace, predicted_trace
from stepwise.steps import KINDS, Prompt, SweepFields, UnknownFormError, Workings


class Run:
    """One unit, one procedure, one bench, one journal."""

    def __init__(self, plan: Plan, journal: Keeper, clock: Clock) -> None:
        """For `start`, `resume` and `read_run`; others call those.

        Raises:
            JournalError: An answer in the journal is of a form that this version does not know.
        """
        self.plan = plan
        self._clock = clock
        self._workings = Workings(plan.procedure.steps, KINDS, plan.scene)
        self.prompts: tuple[Prompt, ...] = self._workings.prompts
        """Every prompt of the run, in order."""
        self._by_key = {prompt.key: prompt for prompt in self.prompts}
        self._steps = {step.id: step for step in plan.procedure.steps}
        self._standings = Standings(plan, self._workings, self.prompts)
        try:
            self._recorder = Recorder(journal, self._standings, clock)
        except UnknownFormError as error:
            raise JournalError(journal.path, error.reason, error.seq) from error

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
        data["log"] = folder.name  # two runs that begin at one instant are two logs
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
            plan = plan_from_begin(begin, folder)
            run = cls(plan, journal, clock)
            run._recorder.append("resume", {})
        except BaseException:
            journal.close()
            raise
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
        self._recorder.journal.close()

    @property
    def folder(self) -> Path:
        """Folder of the log."""
        return self._recorder.journal.path.parent

    @property
    def set_aside(self) -> Path | None:
        """Where a torn last line was put when the log was opened; None if there was none."""
        return self._recorder.journal.set_aside

    @property
    def ended(self) -> bool:
        """Whether the run was ended."""
        return self.state.ended is not None

    @property
    def transcribed(self) -> bool:
        """Whether it was noted elsewhere and entered afterwards: hold points close no step."""
        return self.state.begin.get("transcribed") is True

    @property
    def state(self) -> RecordState:
        """The recorded facts."""
        return self._recorder.standing.state

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
        key = self._recorder.standing.progress.next_key
        return self._by_key[key] if key is not None and not self.ended else None

    def blocked(self) -> Blocked | None:
        """The hold point that keeps everything else shut, where that is so."""
        return self._recorder.standing.progress.blocked

    def way_out(self) -> str:
        """What is to be done at once, where a hold point leaves only that open; else empty."""
        return self._recorder.standing.progress.way_out if not self.ended else ""

    def is_complete(self) -> bool:
        """Whether everything that can be asked has an answer."""
        return self._recorder.standing.progress.is_complete

    def closed_steps(self) -> Mapping[str, str]:
        """Step id -> key of the hold point that closes it."""
        return self._recorder.standing.progress.closed_steps

    def held_prompts(self) -> Mapping[str, str]:
        """Key of every prompt that a hold point closes -> key of that hold point."""
        return self._recorder.standing.progress.held_by

    def closed_prompts(self) -> Mapping[str, str]:
        """Key of every prompt that is closed -> why, and what opens it again."""
        return self._recorder.standing.progress.closed

    def expected(self, key: str) -> Expected:
        """What the prompt expects, with the last reading and the reference filled in."""
        return filled_expected(self.prompt(key), self._by_key, self.state)

    def preview(self, key: str, raw: str) -> Understood | Refusal | None:
        """What the text would be understood as; None for no text. Records nothing."""
        return parse_entry(raw, self.expected(key)) if raw.strip() else None

    def card(self, key: str) -> Card:
        """Everything that the card of a prompt shows."""
        results = self._recorder.standing.results
        return make_card(self.prompt(key), self.prompts, self.plan, self._workings, results)

    # What is answered

    def take(self, key: str, raw: str, *, sure: bool = False) -> Outcome:
        """Take an answer, or correct an earlier one.

        Args:
            key: Of the prompt.
            raw: The text as typed.
            sure: Keep it even where it is probably a slip; the slip's name is kept with it.

        Raises:
            RunError: There is no such prompt.
            JournalError: The answer could not be put on disk; it is not kept.
        """
        prompt = self.prompt(key)
        read = self._read(prompt, raw)
        if isinstance(read, str):
            return self._refused(key, read)
        ready, slip = read
        if slip is not None and not sure:
            return self._recorder.keep_doubt(key, raw, slip)
        if slip is not None:
            ready = ready.in_spite_of(slip)
        status = {"confirm": Status.CONFIRMED, "refuse": Status.NOT_SO}.get(ready.kind, Status.KEPT)
        return self._recorder.keep_answer(prompt, ready, status)

    def foresee(self, key: str, raw: str) -> None:
        """Work out ahead what an answer would lead to, so that `take` finds it worked out.

        Records nothing and changes nothing that is shown; it costs as much as `take` saves.

        Raises:
            RunError: There is no such prompt.
        """
        prompt = self.prompt(key)
        read = self._read(prompt, raw)
        if not isinstance(read, str) and read[1] is None:
            self._recorder.foresee(prompt, read[0])

    def skip(self, key: str, reason: str = "") -> Outcome:
        """Leave a prompt out, with a reason unless it is optional.

        Raises:
            RunError: There is no such prompt.
            JournalError: The skip could not be put on disk.
        """
        prompt = self.prompt(key)
        # What is missing in notes can be said to be missing, whatever is closed.
        refusal = "" if self.transcribed and not self.ended else self._why_not(prompt)
        if not refusal and prompt.hold and not self.transcribed:
            refusal = "A hold point cannot be skipped: satisfy it, or end the run"
        if not refusal and not reason.strip() and not prompt.optional:
            refusal = "Say why it is skipped"
        if refusal:
            return self._refused(key, refusal)
        data = {"key": key, "typed": "", "reason": reason.strip() or "optional, not taken"}
        return self._recorder.keep_answer(prompt, Ready("skip", data, "Skipped"), Status.SKIPPED)

    def note(self, text: str, key: str | None = None) -> None:
        """Keep a remark, on a prompt or on the whole run."""
        if not text.strip():
            raise RunError("an empty remark says nothing")
        self._recorder.append("note", {"key": key, "text": text.strip()})

    def attach(self, path: Path, key: str | None = None) -> Attachment:
        """Keep a copy of a file beside the journal: a capture, a photograph.

        Args:
            path: The file; it stays as it is.
            key: Of the prompt that it belongs to; None for the whole run.

        Raises:
            RunError: The run is ended, or there is no such prompt.
            JournalError: The file cannot be read, or the copy or the journal not be written.
        """
        if self.ended:
            raise RunError("the run is ended; open it again to add to it")
        if key is not None:
            self.prompt(key)
        kept = attach_file(self.folder, path)
        data = {"key": key, "name": kept.name, "sha256": kept.sha256, "from": path.name}
        self._recorder.append("attach", data)
        return self.state.attachments[-1]

    def attach_capture(self, key: str, path: Path, channel: str = "") -> Proposal:
        """Keep a capture beside the journal, and read it into answers that can be taken.

        Args:
            key: Of any prompt of the picture or pass that it shows.
            path: The CSV file; it stays as it is.
            channel: Which of its channels, by number or name; the first without.

        Raises:
            RunError: The run is ended, or the prompt is none that a capture answers.
            CaptureError: The file cannot be read, or shows another tone; nothing is kept.
            JournalError: The copy or the journal cannot be written.
        """
        if self.ended:
            raise RunError("the run is ended; open it again to add to it")
        prompt = self.prompt(key)
        asked = [(each, self.expected(each.key)) for each in same_picture(prompt, self.prompts)]
        step = self._steps[prompt.step]
        data, proposal = attach_capture(self.folder, path, channel, step, asked, self.plan.bench)
        self._recorder.append("attach", data)
        return proposal

    def end(self, remark: str = "") -> Review:
        """End the run; it can be opened again by resuming it."""
        if not self.ended:
            review = self.review()
            data: dict[str, object] = {"remark": remark.strip(), "verdict": review.verdict.value}
            self._recorder.end(data | {"complete": review.complete}, review.marks)
        return self.review()

    # The tone

    def tone(self, on: bool, key: str | None = None) -> ToneClock | None:
        """Say that the tone was switched on or off, at a prompt or at the one in hand."""
        prompt = self.prompt(key) if key is not None else self.next_prompt()
        if prompt is None or not prompt.tone:
            raise RunError("no tone is asked for here")
        self._recorder.append("tone", {"key": prompt.key, "state": "on" if on else "off"})
        return self.tone_clock(prompt.key)

    def tone_clock(self, key: str | None = None) -> ToneClock | None:
        """The tone at a prompt, by default the one in hand; None where none is asked for."""
        prompt = self.prompt(key) if key is not None else self.next_prompt()
        if prompt is None:
            return None
        return tone_clock(self._recorder.standing.tones, self._steps, prompt, self._clock())

    # What it shows

    def sheet(self) -> tuple[SheetLine, ...]:
        """The answered lines, in the order of the procedure."""
        return self._recorder.standing.lines

    def line(self, key: str) -> SheetLine | None:
        """The line of a prompt, or None while it has no answer."""
        return self._recorder.standing.line(key)

    def results(self) -> tuple[Result, ...]:
        """All results, in the order of the procedure."""
        return self._recorder.standing.results

    def findings(self) -> Findings:
        """What flags are found in, as of now."""
        standing = self._recorder.standing
        return self._standings.findings(
            standing.state, standing.results, standing.tones, self._clock()
        )

    def flags(self) -> tuple[Flag, ...]:
        """All flags, worst first."""
        return self._recorder.standing.flags

    def curve(self, step: str, channel: str | None) -> Curve | None:
        """A sweep so far; None where the step is none."""
        fields = self._steps.get(step)
        if not isinstance(fields, SweepFields):
            return None
        return sweep_curve(fields, channel, self._recorder.standing.results)

    def trace(self, key: str) -> Trace | None:
        """The square wave that the sweep so far predicts; None where it cannot tell one."""
        return predicted_trace(self.prompt(key), self._recorder.standing.results)

    def review(self) -> Review:
        """Everything that was found, and what it comes to."""
        return make_review(self._recorder.standing, self.prompts, self.plan)

    # Inside

    def _read(self, prompt: Prompt, raw: str) -> tuple[Ready, Slip | None] | str:
        """A text as an answer, with the slip that it probably is; or why it is refused."""
        refusal = self._why_not(prompt)
        if refusal:
            return refusal
        expected, step = self.expected(prompt.key), self._steps[prompt.step]
        return read_answer(prompt, raw, expected, step, self._recorder.standing, self.plan.bench)

    def _why_not(self, prompt: Prompt) -> str:
        if self.ended:
            return "The run is ended; open it again to add to it"
        return self._recorder.standing.progress.closed.get(prompt.key, "")

    def _refused(self, key: str, message: str) -> Outcome:
        return Outcome(
            Status.REFUSED, key, message, next_key=self._recorder.standing.progress.next_key
        )
