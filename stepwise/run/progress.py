"""Where a run stands: what is open, what a hold point closes, what is asked next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stepwise.journal import Recorded
from stepwise.judge import Result, Verdict
from stepwise.run.outcome import Blocked
from stepwise.steps import Prompt, StepFields


@dataclass(frozen=True, slots=True)
class Progress:
    """The standing of a run, worked out from its answers."""

    next_key: str | None
    """The prompt to ask; a hold point to take again where nothing else is open."""
    blocked: Blocked | None
    closed_steps: Mapping[str, str]
    """Step id -> key of the hold point that closes it."""
    unsatisfied: tuple[str, ...]
    """Keys of hold points that are answered but not satisfied."""
    answered: int
    total: int
    """Prompts that can be asked: those of closed steps do not count once the rest is done."""

    @property
    def is_complete(self) -> bool:
        """Whether everything that can be asked has an answer."""
        return self.next_key is None


def work_out_progress(
    steps: Sequence[StepFields],
    prompts: Sequence[Prompt],
    answers: Mapping[str, Recorded],
    results: Sequence[Result],
    *,
    holds_close: bool = True,
) -> Progress:
    """Find what is open.

    A hold point closes every later step, or the steps it names, until it is satisfied: until
    confirmed, or until its reading is in spec. The rest of its own step stays open. Without
    `holds_close` nothing is closed: what is transcribed has happened already.
    """
    order = {step.id: place for place, step in enumerate(steps)}
    by_key = {result.key: result for result in results if result.key is not None}
    closed: dict[str, str] = {}
    unsatisfied: list[str] = []
    for prompt in prompts:
        if not (holds_close and prompt.hold) or _is_satisfied(prompt, answers, by_key):
            continue
        if prompt.key in answers:
            unsatisfied.append(prompt.key)
        for step_id, place in order.items():
            held = step_id in prompt.hold_for if prompt.hold_for else place > order[prompt.step]
            if held:
                closed.setdefault(step_id, prompt.key)
    open_prompts = [prompt for prompt in prompts if prompt.step not in closed]
    next_key = next((p.key for p in open_prompts if p.key not in answers), None)
    blocked = None
    if next_key is None:
        blocked = _blocked(prompts, unsatisfied, closed, answers, by_key)
        next_key = blocked.key if blocked is not None else None
    return Progress(
        next_key, blocked, closed, tuple(unsatisfied),
        sum(prompt.key in answers for prompt in prompts), len(prompts),
    )  # fmt: skip


def _is_satisfied(
    prompt: Prompt, answers: Mapping[str, Recorded], by_key: Mapping[str, Result]
) -> bool:
    recorded = answers.get(prompt.key)
    if recorded is None or recorded.kind in ("refuse", "skip"):
        return False
    result = by_key.get(prompt.key)
    return result is None or result.judgement.verdict in (Verdict.IN_SPEC, Verdict.NOTED)


def _blocked(
    prompts: Sequence[Prompt],
    unsatisfied: Sequence[str],
    closed: Mapping[str, str],
    answers: Mapping[str, Recorded],
    by_key: Mapping[str, Result],
) -> Blocked | None:
    """The hold point that keeps everything later shut, where one does.

    One that holds only named steps does not stop the run: those steps stay closed and are
    reported as such.
    """
    for prompt in prompts:
        if prompt.key in unsatisfied and not prompt.hold_for:
            waiting = [p for p in prompts if closed.get(p.step) and p.key not in answers]
            if not waiting:
                return None
            result = by_key.get(prompt.key)
            judged = f" is {result.judgement.verdict}" if result is not None else " is not so"
            return Blocked(prompt.key, f"Hold point: “{prompt.ask}”{judged}; later steps stay shut")
    return None
