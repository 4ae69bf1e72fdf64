"""Levels typed in volts: held against the reference in force, on the range that it was read on."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from stepwise.journal import Recorded
from stepwise.judge import Result
from stepwise.quantities import Understood, parse_entry
from stepwise.steps import KINDS, Scene, SweepFields, Workings, recorded_form

STEP = SweepFields(id="sweep", title="Sweep", points=("20 Hz",), reference_again=False)


def level_of(scene: Scene, first: str, typed: str, again: str | None = None) -> Result:
    """The level at 20 Hz, typed against a reference that may be taken again afterwards."""
    workings = Workings([STEP], KINDS, scene)
    prompts = {prompt.key: prompt for prompt in workings.prompts}
    answers: dict[str, Recorded] = {}
    seen: float | None = None

    def take(key: str, text: str, seq: int) -> float:
        expected = replace(prompts[key].expected, reference_volts=seen)
        entry = parse_entry(text, expected)
        assert isinstance(entry, Understood), entry
        answers[key] = Recorded(
            seq, "", key, text, "reading", {"typed": text, **recorded_form(entry)}
        )
        return entry.value

    seen = take("sweep///reference", first, 1)
    take("sweep///20 Hz", typed, 2)
    if again is not None:
        take("sweep///reference", again, 3)
    (level,) = [each for each in workings.results(answers) if each.name == "level_db"]
    return level


def test_a_reference_that_was_taken_again_counts_for_the_levels_before(scene: Scene) -> None:
    """1.0 V against 2.0 V is -6.02 dB; the reference was misread, and 1.0 V is flat."""
    assert level_of(scene, "2.0", "1.0 V").value == pytest.approx(-6.0206, abs=1e-4)
    assert level_of(scene, "2.0", "1.0 V", again="1.0").value == pytest.approx(0.0, abs=1e-9)
    decibels = level_of(scene, "2.0", "-6.0", again="1.0")
    assert decibels.value == -6.0  # read off the scale that was set to 0 dB


def test_what_two_ranges_are_off_by_does_not_cancel(scene: Scene) -> None:
    """3 % of 10 V on 2.0 V is 15 %, and the 3 V range knows nothing of it."""
    one_range = level_of(scene, "2.0 on 3", "2.0 on 3").measure
    two_ranges = level_of(scene, "2.0 on 10", "2.0 on 3").measure
    off = math.hypot(0.3 / 2.0, 0.09 / 2.0) / math.sqrt(3.0)
    read = math.hypot(10.0, 3.0) / 120.0 / math.sqrt(12.0) / 2.0
    assert two_ranges.standard_uncertainty == pytest.approx(
        20.0 / math.log(10.0) * math.hypot(off, read), rel=1e-3
    )
    assert one_range.standard_uncertainty < two_ranges.standard_uncertainty / 5.0
