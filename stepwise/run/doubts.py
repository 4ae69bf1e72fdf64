"""Answers in doubt: what the run knows of a prompt, laid before the finder of slips."""

from __future__ import annotations

import math
from collections.abc import Mapping

from stepwise.bench import Bench, Meter, MeterType, load_label
from stepwise.judge import Result
from stepwise.judge.slips import Asked, Slip, find_slip
from stepwise.quantities import Expected, Refusal, require
from stepwise.run.answers import Ready, make_ready, reading_name
from stepwise.run.attach_capture import captured
from stepwise.run.standing import Standing
from stepwise.steps import ClipFields, Prompt, StepFields, SweepFields, understood_from


def read_answer(
    prompt: Prompt, raw: str, expected: Expected, step: StepFields, standing: Standing, bench: Bench
) -> tuple[Ready, Slip | None] | str:
    """A text as an answer, with the slip that it probably is; or the sentence that refuses it.

    Args:
        prompt: The prompt that is answered.
        raw: The text as typed.
        expected: What it expects, with the reference filled in.
        step: Its step.
        standing: Where the run stands before it.
        bench: With the meter that the prompt names.
    """
    ready = make_ready(prompt, raw, expected)
    if isinstance(ready, Refusal):
        return ready.sentence
    ready = ready.taken_from(captured(standing.state, prompt.key, raw))
    return ready, doubt(prompt, step, expected, ready.data, standing, bench)


def doubt(
    prompt: Prompt,
    step: StepFields,
    expected: Expected,
    data: Mapping[str, object],
    standing: Standing,
    bench: Bench,
) -> Slip | None:
    """The slip that an answer probably is; None where it may well be meant so.

    Args:
        prompt: The prompt that is answered.
        step: Its step.
        expected: What it expects, with the reference filled in.
        data: The answer, as it would be recorded.
        standing: Where the run stands before it.
        bench: With the meter that the prompt names.
    """
    understood = understood_from(data)
    if understood is None:
        return None
    asked = Asked(
        key=prompt.key,
        step=prompt.step,
        channel=prompt.of.channel,
        load=prompt.of.load,
        kind=prompt.kind,
        name=reading_name(prompt),
        expected=expected,
        findings=standing.findings,
        point=prompt.point,
        hertz=_hertz(prompt, step),
        reference_hertz=_reference_hertz(step),
        aim=_aim(prompt, step, standing.results),
        is_without_ranges=_is_without_ranges(bench.meter(prompt.meter)),
        last_key=_last_key(standing),
    )
    return find_slip(asked, understood)


def _is_without_ranges(meter: Meter | None) -> bool:
    return meter is not None and meter.type is MeterType.DIGITAL and not meter.ranges


def _hertz(prompt: Prompt, step: StepFields) -> float | None:
    """Frequency of the tone that is read [Hz]."""
    if isinstance(step, SweepFields):
        return require(prompt.point if prompt.point in step.points else step.reference, "Hz")
    return require(step.tone, "Hz") if isinstance(step, ClipFields) else None


def _reference_hertz(step: StepFields) -> float:
    """Frequency at which a row of levels stands at 0 dB [Hz]; that of a row by default."""
    return require(step.reference if isinstance(step, SweepFields) else "1 kHz", "Hz")


def _aim(prompt: Prompt, step: StepFields, results: tuple[Result, ...]) -> float | None:
    """The level that a sweep's card asks for [V RMS]: so far below the lowest clean one."""
    if not isinstance(step, SweepFields) or step.below_clip is None:
        return None
    levels = [
        result
        for result in results
        if result.name == "level"
        and result.load is not None
        and result.channel in (None, prompt.of.channel)
    ]
    if step.load is not None:
        wanted = load_label(require(step.load, "ohm"))
        levels = [result for result in levels if result.load == wanted] or levels
    if not levels:
        return None
    clean = min(result.value for result in levels)
    return clean * math.pow(10.0, -require(step.below_clip, "dB") / 20.0)


def _last_key(standing: Standing) -> str | None:
    answers = standing.state.answers.values()
    return max(answers, key=lambda recorded: recorded.seq).key if answers else None
