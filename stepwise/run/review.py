"""The closing review: everything that a run found, and what it comes to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stepwise.journal import Note
from stepwise.judge import Conclusion, Flag, Marks, Result, Verdict, conclude, give_marks, overall
from stepwise.run.outcome import SheetLine
from stepwise.run.plan import Plan
from stepwise.run.standing import Standing
from stepwise.steps import KINDS, Prompt, Scene, StepFields


@dataclass(frozen=True, slots=True)
class Review:
    """What a run comes to."""

    lines: tuple[SheetLine, ...]
    results: tuple[Result, ...]
    flags: tuple[Flag, ...]
    skipped: tuple[SheetLine, ...]
    refused: tuple[SheetLine, ...]
    """Confirmations that were answered with no."""
    closed_steps: Mapping[str, str]
    """Step id -> question of the hold point that keeps it closed."""
    closed_prompts: Mapping[str, str]
    """Key of every prompt without an answer that is closed -> why, and what opens it again."""
    notes: tuple[Note, ...]
    counts: Mapping[Verdict, int]
    verdict: Verdict
    unsatisfied: tuple[str, ...]
    """Questions of the hold points of the whole run that were answered, and not satisfied."""
    complete: bool
    """Whether everything that could be asked was, with every hold point satisfied."""
    marks: Marks
    """By the procedure's scheme; without lines where it has none."""
    skipped_limited: int
    """How many of the skipped are readings that have a limit."""
    unanswered: int
    """Prompts without any answer; closed ones too."""

    @property
    def conclusion(self) -> Conclusion:
        """The verdict with what may not be left unsaid beside it: words and sign of the whole."""
        severities = [flag.severity for flag in self.flags]
        return conclude(self.verdict, is_complete=self.complete, severities=severities)

    @property
    def limited_words(self) -> str:
        """What those that were left out would have been held against, as the end of a phrase."""
        if not self.skipped_limited:
            return ""
        if len(self.skipped) == 1:
            return ", a reading with a limit"
        one = "a reading" if self.skipped_limited == 1 else "readings"
        return f", {self.skipped_limited} of them {one} with a limit"

    @property
    def unsatisfied_words(self) -> str:
        """Which hold points nothing has satisfied, as the end of a sentence."""
        if not self.unsatisfied:
            return ""
        points = "hold point" if len(self.unsatisfied) == 1 else "hold points"
        return f"; {points} not satisfied: {', '.join(f'“{ask}”' for ask in self.unsatisfied)}"

    @property
    def sentence(self) -> str:
        """The overall verdict in one sentence."""
        parts = [
            f"{self.counts[verdict]} {verdict}"
            for verdict in (Verdict.IN_SPEC, Verdict.TOO_CLOSE, Verdict.OUT_OF_SPEC)
            if self.counts.get(verdict)
        ]
        counted = ", ".join(parts) or "nothing had a limit"
        if self.skipped:
            counted += f"; {len(self.skipped)} left out{self.limited_words}"
        unfinished = "" if self.complete else "; the run is not finished"
        if self.unanswered:
            unfinished += f"{';' if self.complete else ','} {self.unanswered} not answered"
        return (
            f"{self.conclusion.words.capitalize()}: {counted}{unfinished}{self.unsatisfied_words}"
        )


def make_review(standing: Standing, prompts: Sequence[Prompt], plan: Plan) -> Review:
    """Count and conclude; a confirmation answered with no counts as out of spec.

    Args:
        standing: Where the run stands.
        prompts: Of the run.
        plan: Of the run.
    """
    lines, results = standing.lines, standing.results
    answers = standing.state.answers
    asks = {prompt.key: prompt.ask for prompt in prompts}
    closed_steps = {step: asks[key] for step, key in standing.progress.closed_steps.items()}
    limited = _limited_keys(plan, prompts)
    closed = {key: why for key, why in standing.progress.closed.items() if key not in answers}
    refused = tuple(line for line in lines if line.as_read == "not so")
    skipped = tuple(line for line in lines if line.verdict is Verdict.SKIPPED)
    verdicts = [each.judgement.verdict for each in results]
    verdicts += [Verdict.OUT_OF_SPEC] * len(refused) + [Verdict.SKIPPED] * len(skipped)
    return Review(
        lines, results, standing.flags, skipped, refused, closed_steps, closed,
        standing.state.notes, Counter(verdicts), overall(verdicts),
        _unsatisfied(standing, prompts), standing.progress.is_complete,
        give_marks(plan.procedure.marks, results),
        sum(line.key in limited for line in skipped),
        standing.progress.total - standing.progress.answered,
    )  # fmt: skip


def _unsatisfied(standing: Standing, prompts: Sequence[Prompt]) -> tuple[str, ...]:
    """Questions of the hold points that hold the whole run, and whose answer is not the one."""
    waiting, answers = standing.progress.unsatisfied, standing.state.answers
    return tuple(
        each.ask
        for each in prompts
        if each.key in waiting and not each.hold_for and answers[each.key].kind != "skip"
    )


def _limited_keys(plan: Plan, prompts: Sequence[Prompt]) -> frozenset[str]:
    """Keys of the prompts whose answer, or what is computed from it, has a limit."""
    by_id = {step.id: step for step in plan.procedure.steps}
    return frozenset(
        prompt.key for prompt in prompts if _has_limit(by_id[prompt.step], prompt, plan.scene)
    )


def _has_limit(step: StepFields, prompt: Prompt, scene: Scene) -> bool:
    kind = KINDS[prompt.kind]
    limit, _ = kind.limit(kind.in_pass(step, prompt.of, scene), prompt.of, prompt.point)
    return limit is not None
