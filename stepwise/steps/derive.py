"""From answers to findings: every result of a run, worked out again from what was recorded."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from operator import is_
from typing import Any

from stepwise.bench import measure_volts
from stepwise.journal import Recorded
from stepwise.judge import Result
from stepwise.quantities import Answer, Form, Uncertain, Understood
from stepwise.steps.fields import StepFields
from stepwise.steps.kind import StepKind
from stepwise.steps.known import Known, measured
from stepwise.steps.prompt import Pass, Prompt, Reading
from stepwise.steps.scale_use import scale_use
from stepwise.steps.scene import Scene
from stepwise.steps.sweep_fields import bench_steps


class UnknownFormError(ValueError):
    """An answer was kept in a way that this version does not know."""

    def __init__(self, reason: str, seq: int) -> None:
        self.reason = reason
        self.seq = seq
        """Of the answer's event, which is also its line in the journal."""
        super().__init__(reason, seq)


class Workings:
    """Works out results pass by pass, and only what an answer can have changed.

    The results of a pass depend on its own readings and on the results before it, so a pass is
    worked out again when its readings changed or when any result before it did.
    """

    def __init__(
        self, steps: Sequence[StepFields], kinds: Mapping[str, StepKind[Any]], scene: Scene
    ) -> None:
        self._scene = scene
        self._of_bench = bench_steps(steps)
        self._turns: list[tuple[StepFields, StepKind[Any], Pass, tuple[Prompt, ...]]] = []
        for step in steps:
            kind = kinds[kind_name(step)]
            for at in scene.passes(step):
                prompts = kind.prompts(step, at, scene)
                if prompts:
                    self._turns.append((step, kind, at, prompts))
        self._readings: dict[str, tuple[object, Reading]] = {}
        self._kept: list[tuple[tuple[object, ...], list[Result]] | None] = [None] * len(self._turns)

    @property
    def prompts(self) -> tuple[Prompt, ...]:
        """All prompts, in the order of the procedure."""
        return tuple(prompt for *_, prompts in self._turns for prompt in prompts)

    def results(self, answers: Mapping[str, Recorded]) -> tuple[Result, ...]:
        """All results of the answers in force, in the order of the procedure.

        Raises:
            UnknownFormError: An answer was not recorded by this version, nor by an older one.
        """
        known = Known(self._scene, {}, self._of_bench)
        everything: list[Result] = []
        taken_in = 0
        dirty = False
        # As a whole or not at all: an error in a later pass must not leave earlier ones as known.
        all_kept = list(self._kept)
        for place, (step, kind, at, prompts) in enumerate(self._turns):
            given = [(p, answers[p.key]) for p in prompts if p.key in answers]
            mark = tuple(_mark(kind, recorded) for _, recorded in given)
            kept = all_kept[place]
            if dirty or kept is None or kept[0] != mark:
                readings = {p.point: self._reading(kind, p, recorded) for p, recorded in given}
                # only where something is worked out: most answers change one pass
                known.add(everything[taken_in:])
                taken_in = len(everything)
                fresh = kind.results(step, at, readings, known) if readings else []
                before = kept[1] if kept is not None else []
                fresh = _with_what_stands(fresh, before)
                dirty = dirty or len(fresh) != len(before) or not all(map(is_, fresh, before))
                all_kept[place] = kept = (mark, fresh)
            everything.extend(kept[1])
        self._kept = all_kept
        return tuple(everything)

    def known_before(self, at: Pass, results: Sequence[Result]) -> Known:
        """What is known when a pass begins, for its guidance."""
        own = at.step, at.channel, at.load
        known = Known(self._scene, {}, self._of_bench)
        known.add([each for each in results if (each.step, each.channel, each.load) != own])
        return known

    def _reading(self, kind: StepKind[Any], prompt: Prompt, recorded: Recorded) -> Reading:
        cached = self._readings.get(prompt.key)
        mark = _mark(kind, recorded)
        if cached is not None and cached[0] == mark:
            return cached[1]
        reading = read_back(prompt, recorded, self._scene)
        if kind.tells_time:
            reading = replace(reading, at=recorded.at)
        self._readings[prompt.key] = (mark, reading)
        return reading


def _with_what_stands(fresh: list[Result], before: list[Result]) -> list[Result]:
    """Fresh results, the same object for each that is as it was: whoever keeps it, keeps it."""
    earlier = {(each.name, each.point): each for each in before}
    return [
        old if (old := earlier.get((each.name, each.point))) is not None and each == old else each
        for each in fresh
    ]


def _mark(kind: StepKind[Any], recorded: Recorded) -> tuple[int, str, str, str, str]:
    """What tells two answers apart, also one that could not be written and was typed anew.

    An answer that was never written has the place in the journal of the one that was: the same
    text at another prompt, too. All else that is made of it follows from these and from what was
    recorded before it.

    The time of an answer that was worked out before it was given is that of the working, so it
    counts only where something is made of it.
    """
    at = recorded.at if kind.tells_time else ""
    return recorded.seq, recorded.key, recorded.kind, recorded.typed, at


def kind_name(step: StepFields) -> str:
    """The kind of a step, as its TOML says it."""
    return str(step.__struct_config__.tag)


def read_back(prompt: Prompt, recorded: Recorded, scene: Scene) -> Reading:
    """A recorded answer as a reading, its uncertainty worked out from the bench."""
    try:
        understood = understood_from(recorded.data)
    except ValueError as error:
        raise UnknownFormError(f"this answer {error}", recorded.seq) from error
    measure: Uncertain | None = None
    unit = ""
    if recorded.kind == "reading" and understood is not None:
        unit = understood.unit
        if prompt.expected.answer is Answer.MARK:
            measure, unit = Uncertain(understood.value), ""
        elif prompt.expected.answer is not Answer.TEXT:
            measure = measured(prompt, understood, scene, captured_standard(recorded.data))
    volts, deflection, better_range = None, None, None
    # what a capture gave was read by the oscilloscope, whatever the prompt's meter can show
    if understood is not None and captured_standard(recorded.data) is None:
        meter = scene.bench.meter(prompt.meter)
        deflection, better_range = scale_use(understood, meter)
        volts = measure_volts(understood, meter, scene.bench, prompt.key)
    return Reading(
        key=prompt.key,
        point=prompt.point,
        typed=recorded.typed,
        answer=recorded.kind,
        measure=measure,
        unit=unit,
        range_full_scale=understood.range_full_scale if understood is not None else None,
        seq=recorded.seq,
        deflection=deflection,
        better_range=better_range,
        volts=volts,
        is_captured=captured_standard(recorded.data) is not None,
    )


def captured_standard(data: Mapping[str, object]) -> float | None:
    """Standard uncertainty of an answer that was taken from a capture; None for any other."""
    capture = data.get("capture")
    return _number(capture, "standard") if isinstance(capture, Mapping) else None


def recorded_form(understood: Understood) -> dict[str, object]:
    """What the journal keeps of an entry: all that its uncertainty is worked out from."""
    return {
        "value": understood.value,
        "unit": understood.unit,
        "form": understood.form.value,
        "typed_form": understood.typed_form.value,
        "echo": understood.echo,
        "step": understood.step,
        "range": understood.range_full_scale,
        "multiplier": understood.multiplier,
        "conversion": understood.conversion,
        "divisions": understood.divisions,
        "per_division": understood.per_division,
        "volts": understood.volts,
        "interval": list(understood.interval) if understood.interval else None,
    }


def understood_from(data: Mapping[str, object]) -> Understood | None:
    """The entry that the journal kept, or None where it kept no value.

    Raises:
        ValueError: It was kept in a form that this version does not know.
    """
    value = _number(data, "value")
    if value is None:
        return None
    interval = data.get("interval")
    return Understood(
        typed=str(data.get("typed", "")),
        value=value,
        unit=str(data.get("unit", "")),
        form=_form(data.get("form", "")),
        typed_form=_form(data.get("typed_form", data.get("form", ""))),
        echo=str(data.get("echo", "")),
        step=_number(data, "step") or 0.0,
        range_full_scale=_number(data, "range"),
        multiplier=_number(data, "multiplier") or 1.0,
        conversion=_number(data, "conversion") or 1.0,
        divisions=_number(data, "divisions"),
        per_division=_number(data, "per_division"),
        volts=_number(data, "volts"),
        interval=_pair(interval),
    )


def _form(kept: object) -> Form:
    try:
        return Form(str(kept))
    except ValueError:
        known = ", ".join(form.value for form in Form if form.value)
        reason = f"is kept in the form “{kept}”, which this version does not know ({known})"
        raise ValueError(reason) from None


def _pair(interval: object) -> tuple[float, float] | None:
    if isinstance(interval, list | tuple) and len(interval) == 2:
        low, high = interval
        if isinstance(low, int | float) and isinstance(high, int | float):
            return float(low), float(high)
    return None


def _number(data: Mapping[str, object], name: str) -> float | None:
    value = data.get(name)
    return float(value) if isinstance(value, int | float) else None
