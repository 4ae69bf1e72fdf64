"""Where a run stands: everything that its recorded facts come to, worked out together.

One answer leads to one `Standing`: what is written beside the answer, what is told of it and
what is shown afterwards are the same results and the same flags, not two workings of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from stepwise.journal import Recorded, RecordState
from stepwise.judge import Confirmed, Findings, Flag, Result
from stepwise.judge.flags import FlagFinder
from stepwise.run.awaited import awaited_keys
from stepwise.run.live import since_power
from stepwise.run.outcome import SheetLine
from stepwise.run.plan import Plan
from stepwise.run.progress import Progress, work_out_progress
from stepwise.run.sheet import Sheet
from stepwise.run.tones import ToneTimes, tone_spans, tone_times
from stepwise.steps import Prompt, StepFields, Workings, flag_facts


@dataclass(frozen=True, slots=True)
class Standing:
    """What the recorded facts come to at one moment."""

    state: RecordState
    results: tuple[Result, ...]
    tones: tuple[ToneTimes, ...]
    findings: Findings
    flags: tuple[Flag, ...]
    progress: Progress
    lines: tuple[SheetLine, ...]

    def line(self, key: str) -> SheetLine | None:
        """The line of a prompt, or None while it has no answer."""
        return next((line for line in self.lines if line.key == key), None)

    def with_state(self, state: RecordState) -> Standing:
        """The same, of the facts as they were recorded in the end."""
        return replace(self, state=state)


class Standings:
    """Works standings out, keeping what an answer cannot have changed."""

    def __init__(self, plan: Plan, workings: Workings, prompts: Sequence[Prompt]) -> None:
        self._plan = plan
        self._workings = workings
        self._prompts = prompts
        self._steps: Mapping[str, StepFields] = {step.id: step for step in plan.procedure.steps}
        self._facts = flag_facts(plan.scene, plan.procedure.steps)
        self._confirms = _confirms(plan, prompts)
        self._sheet = Sheet(prompts)
        self._flags = FlagFinder()

    def work_out(self, state: RecordState, now: datetime) -> Standing:
        """Everything that the facts come to at a moment."""
        results = self._workings.results(state.answers)
        tones = tone_times(self._prompts, state)
        findings = self.findings(state, results, tones, now)
        flags = self._flags.find(findings)
        steps, is_past = self._plan.procedure.steps, is_transcribed(state)
        answers = state.answers if is_past else since_power(steps, self._prompts, state)
        progress = work_out_progress(
            steps, self._prompts, answers, results, flags, holds_close=not is_past
        )
        lines = self._sheet.lines(state, results, progress.closed)
        return Standing(state, results, tones, findings, flags, progress, lines)

    def findings(
        self,
        state: RecordState,
        results: tuple[Result, ...],
        tones: Sequence[ToneTimes],
        now: datetime,
    ) -> Findings:
        """What flags are found in."""
        # What was noted elsewhere was not timed: the times of its entry say nothing.
        spans = () if is_transcribed(state) else tone_spans(tones, self._steps, now)
        is_over = state.ended is not None
        awaited = frozenset() if is_over else awaited_keys(self._prompts, state.answers)
        confirmed = tuple(
            each
            for each in self._confirms
            if (given := state.answers.get(each.key)) is not None and given.kind == "confirm"
        )
        return Findings(results, self._facts, spans, awaited, confirmed)


def _confirms(plan: Plan, prompts: Sequence[Prompt]) -> tuple[Confirmed, ...]:
    """Everything that may be confirmed, with the steps that come after it."""
    order = [step.id for step in plan.procedure.steps]
    return tuple(
        Confirmed(
            prompt.key, prompt.step, prompt.ask, frozenset(order[order.index(prompt.step) + 1 :])
        )
        for prompt in prompts
        if prompt.kind == "confirm"
    )


def is_transcribed(state: RecordState) -> bool:
    """Whether the run was noted elsewhere and entered afterwards."""
    return state.begin.get("transcribed") is True


def with_answer(state: RecordState, recorded: Recorded) -> RecordState:
    """The facts with one answer more, before it is on disk."""
    earlier = state.history.get(recorded.key, ())
    return replace(
        state,
        answers={**state.answers, recorded.key: recorded},
        history={**state.history, recorded.key: (*earlier, recorded)},
    )
