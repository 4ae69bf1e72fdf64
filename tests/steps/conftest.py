"""A scene, and answers typed into the steps without a journal."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import pytest

from stepwise.bench import (
    Bench,
    Claim,
    Detector,
    Load,
    Meter,
    MeterType,
    Oscillator,
    Supply,
    Unit,
    parse_accuracy,
    parse_resolution,
)
from stepwise.journal import Recorded
from stepwise.judge import Result
from stepwise.quantities import Answer, Form, Understood, parse_entry
from stepwise.steps import KINDS, Scene, StepFields, SweepFields, Workings, recorded_form

AC = Meter(
    "ac",
    MeterType.ANALOGUE,
    parse_accuracy("3 % of full scale"),
    "V",
    Form.RMS,
    (1.0, 3.0, 10.0),
    parse_resolution("1/4 division of 30"),
    Detector.AVERAGE,
)
DC = Meter("dc", MeterType.DIGITAL, parse_accuracy("0.5 % + 2 digits"), "V", Form.DC, counts=4000)


@pytest.fixture
def scene() -> Scene:
    unit = Unit(
        "Teal",
        ("left", "right"),
        {"reservoir_rating": 50.0, "minimum_load": 4.0, "input_resistance": 22_000.0},
        (Claim(60.0, 4.0, 10.0), Claim(40.0, 8.0, 1.0)),
    )
    bench = Bench(
        "Hall workshop",
        (AC, DC),
        (Load(8.0, 8.0), Load(4.0, 4.0), Load(2.0, 2.0)),
        Supply("transformer", 24.0, 2, 160.0),
        Oscillator(0.0),
    )
    return Scene(unit, bench)


Work = Callable[..., tuple[Result, ...]]


def results_of(
    scene: Scene, steps: Sequence[StepFields], typed: Mapping[str, str]
) -> tuple[Result, ...]:
    """Answers -> results, as a run would read and work them out."""
    workings = Workings(steps, KINDS, scene)
    answers: dict[str, Recorded] = {}
    for prompt in workings.prompts:
        if prompt.key not in typed:
            continue
        expected = prompt.expected
        entry = parse_entry(typed[prompt.key], expected)
        assert isinstance(entry, Understood), entry
        data = recorded_form(entry) if expected.answer is not Answer.TEXT else {}
        seq = len(answers) + 1
        answers[prompt.key] = Recorded(
            seq, "", prompt.key, entry.typed, "reading", {"typed": entry.typed, **data}
        )
    missing = set(typed) - {prompt.key for prompt in workings.prompts}
    assert not missing, f"no such prompts: {missing}"
    return workings.results(answers)


@pytest.fixture
def work(scene: Scene) -> Work:
    """Answers -> results, for a list of steps."""

    def run(steps: list[StepFields], typed: Mapping[str, str]) -> tuple[Result, ...]:
        return results_of(scene, steps, typed)

    return run


def named(results: tuple[Result, ...], name: str, **where: str | None) -> Result:
    """The one result of that name there."""
    found = [
        each
        for each in results
        if each.name == name and all(getattr(each, k) == v for k, v in where.items())
    ]
    assert len(found) == 1, [(each.name, each.channel, each.load, each.point) for each in results]
    return found[0]


POINTS = (
    *("10 Hz", "16 Hz", "20 Hz", "31.5 Hz", "50 Hz", "100 Hz", "200 Hz", "500 Hz", "2 kHz"),
    *("5 kHz", "10 kHz", "16 kHz", "20 kHz", "31.5 kHz", "50 kHz", "80 kHz", "100 kHz"),
)
"""What a long sweep reads."""


def sweep(points: tuple[str, ...] = POINTS, **more: object) -> SweepFields:
    """A sweep of these points."""
    return SweepFields(id="sweep", title="Sweep", points=points, **more)
