"""Noise by an average-responding meter: hum as read, hiss more, and the ± that holds both."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from stepwise.bench import Detector
from stepwise.judge import LimitFields, Result, Verdict
from stepwise.science import AVERAGE_METER_ON_NOISE, SINE_FORM_FACTOR
from stepwise.steps import ReadingsFields, Scene
from stepwise.steps.reading_fields import ReadingAsk
from tests.steps.conftest import named, results_of


def _read(scene: Scene, typed: str, name: str = "residual_noise", times: int = 1) -> Result:
    ask = ReadingAsk(
        name=name, ask="Noise", unit="mV", meter="ac", limit=LimitFields(max="1 mV"), times=times
    )
    step = ReadingsFields(id="q", title="Q", readings=(ask,))
    more = {f"q///{name}/{look}": typed for look in range(2, times + 1)}
    return named(results_of(scene, [step], {f"q///{name}": typed} | more), name)


def _with_detector(scene: Scene, detector: Detector) -> Scene:
    meters = tuple(replace(meter, detector=detector) for meter in scene.bench.meters)
    return replace(scene, bench=replace(scene.bench, meters=meters))


@pytest.mark.parametrize("times", [1, 3])
def test_noise_just_below_its_limit_is_not_said_to_be_in_spec(scene: Scene, times: int) -> None:
    # 0.94 mV on a meter that follows the mean is 1.06 mV where it is hiss
    found = _read(scene, "0.94 on 1 x0.001", times=times)
    true = _read(_with_detector(scene, Detector.RMS), "0.94 on 1 x0.001", times=times)

    assert (true.judgement.verdict, true.remark) == (Verdict.IN_SPEC, "")
    assert found.judgement.verdict is Verdict.TOO_CLOSE
    assert found.value == true.value == pytest.approx(0.94e-3)
    assert found.measure.expanded_uncertainty > 0.12 * found.value
    assert found.remark == (
        "The meter follows the mean: a hum that is a sine is as read, hiss up to 13 % more; the ± holds both."
    )


def test_what_is_no_noise_has_the_meters_own_uncertainty(scene: Scene) -> None:
    found = _read(scene, "0.94 on 1 x0.001", "level_open")
    assert found.remark == ""
    assert found.measure.expanded_uncertainty < 0.06 * found.value


def test_noise_read_in_divisions_owes_nothing_to_the_meter(scene: Scene) -> None:
    found = _read(scene, "3 div at 0.5 mV")
    assert found.remark == ""
    assert not [source for source in found.measure.terms if "shape" in source]


@pytest.mark.parametrize("hum", [0.0, 0.5, 1.0, 3.0, 100.0])
def test_a_mixture_of_hum_and_hiss_reads_between_the_two(hum: float) -> None:
    """Hum is a sine, hiss Gaussian: by quadrature over both, the hiss of one volt RMS."""
    phases = math.sqrt(2.0) * hum * np.sin((np.arange(500) + 0.5) * 2.0 * np.pi / 500)
    hiss = np.linspace(-9.0, 9.0, 3601)
    weight = np.exp(-0.5 * hiss**2) / np.sum(np.exp(-0.5 * hiss**2))
    mean = float(np.mean(np.abs(phases[:, np.newaxis] + hiss) @ weight))
    shown = SINE_FORM_FACTOR * mean / math.hypot(hum, 1.0)

    assert AVERAGE_METER_ON_NOISE - 1e-5 < shown < 1.0
    if hum == 0.0:
        assert shown == pytest.approx(AVERAGE_METER_ON_NOISE, abs=1e-5)
