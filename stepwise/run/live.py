"""A board that was made dead and switched on again is live: what made it dead is asked anew."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from stepwise.journal import Recorded, RecordState
from stepwise.steps import Prompt, StepFields


def since_power(
    steps: Sequence[StepFields], prompts: Sequence[Prompt], state: RecordState
) -> Mapping[str, Recorded]:
    """The answers in force without those that were given before the board was last switched on.

    Steps that a hold point leaves open make the board dead. From the first step with such a hold
    point on, whatever is answered for the first time says that the board is on, and so does
    every answer to such a hold point. Another reading that is taken again may only be mended.

    Args:
        steps: Of the procedure.
        prompts: Of the run.
        state: What is recorded.
    """
    order = {step.id: place for place, step in enumerate(steps)}
    live_from: dict[str, int] = {}
    for prompt in prompts:
        for step in prompt.hold_except:
            live_from.setdefault(step, order[prompt.step])
    if not live_from:
        return state.answers
    switched_on = dict.fromkeys(live_from, 0)
    for prompt in prompts:
        if prompt.step not in live_from:
            for step, place in live_from.items():
                if place <= order[prompt.step] < order[step]:
                    switched_on[step] = max(switched_on[step], _seen_live(prompt, state))
    stale = {
        prompt.key
        for prompt in prompts
        if prompt.key in state.answers
        and state.answers[prompt.key].seq < switched_on.get(prompt.step, 0)
    }
    return {key: each for key, each in state.answers.items() if key not in stale}


def _seen_live(prompt: Prompt, state: RecordState) -> int:
    """Place in the journal of the last answer that shows that the board was on; 0 for none."""
    answers = [each.seq for each in state.history.get(prompt.key, ()) if each.kind != "skip"]
    if not answers:
        return 0
    return answers[-1] if prompt.hold_except else answers[0]
