"""The card of a prompt: everything that the person needs to answer it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import msgspec

from stepwise.judge import LimitFields, Result
from stepwise.run.outcome import Card
from stepwise.run.plan import Plan
from stepwise.run.tones import seconds
from stepwise.steps import KINDS, Prompt, StepFields, Workings


def make_card(
    prompt: Prompt,
    prompts: Sequence[Prompt],
    plan: Plan,
    workings: Workings,
    results: Sequence[Result],
) -> Card:
    """Gather what the card shows."""
    steps = plan.procedure.steps
    place = next(n for n, step in enumerate(steps) if step.id == prompt.step)
    kind = KINDS[prompt.kind]
    step = kind.in_pass(steps[place], prompt.of, plan.scene)
    known = workings.known_before(prompt.of, results)
    fields, unit = kind.limit(step, prompt.of, prompt.point)
    limit = known.limit(fields, unit, prompt.of)
    return Card(
        prompt=prompt,
        step_title=step.title,
        why=step.why,
        how=step.how,
        cautions=step.caution,
        settings=(*prompt.settings, *kind.guidance(step, prompt.of, known)),
        limit_text=f"{_quantity(step, fields)}{limit.text}" if limit is not None else "",
        number=next(n for n, each in enumerate(prompts, start=1) if each.key == prompt.key),
        of=len(prompts),
        step_number=place + 1,
        of_steps=len(steps),
        on_time=seconds(step.on_time),
        rest=seconds(step.rest),
    )


def _quantity(step: StepFields, fields: LimitFields | None) -> str:
    """What a step's own limit is on, as the start of a phrase: "sag "; a reading's needs none."""
    limits = getattr(step, "limits", None)
    if fields is None or not isinstance(limits, msgspec.Struct):
        return ""
    for name in limits.__struct_fields__:
        if getattr(limits, name) is fields:
            return f"{_WORDS.get(name, name.replace('_', ' '))} "
    return ""


_WORDS: Mapping[str, str] = MappingProxyType(
    {"level_db": "level", "power_at_ten_percent": "power at 10 %"}
)
"""Names of results that are said otherwise."""
