"""What the pass in hand still asks for: flags that such an answer may take back wait for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from stepwise.journal import Recorded
from stepwise.steps import Prompt, pass_key


def awaited_keys(prompts: Sequence[Prompt], answers: Mapping[str, Recorded]) -> frozenset[str]:
    """Prompts without an answer in the pass that was answered last, and in the one asked next."""
    unanswered = [prompt for prompt in prompts if prompt.key not in answers]
    in_hand = {unanswered[0].of.key} if unanswered else set()
    if answers:
        last = max(answers.values(), key=lambda recorded: recorded.seq)
        in_hand.add(pass_key(last.key))
    return frozenset(prompt.key for prompt in unanswered if prompt.of.key in in_hand)
