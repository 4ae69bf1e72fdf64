"""The bench's own response: taken off a sweep with its uncertainty, recorded, and read back."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import signal

from stepwise.quantities import Uncertain
from stepwise.steps import (
    KINDS,
    BenchResponse,
    Scene,
    Workings,
    bench_response,
    read_bench_response,
)
from tests.steps.conftest import named, results_of, sweep


def own_response(level: float = -0.6) -> BenchResponse:
    there = Uncertain(level, {"flatness///20 kHz pointer": 0.1, "ac decibel scale": 0.02})
    further = Uncertain(2.0 * level, {"flatness///40 kHz pointer": 0.1})
    levels_read = [(20e3, there), (40e3, further)]
    keys = ("flatness///20 kHz", "flatness///40 kHz", "flatness///reference")
    return bench_response("2026-03-14-bench-01", levels_read, keys, 1000.0)


def test_the_bench_is_taken_off_with_its_uncertainty_and_said(scene: Scene) -> None:
    step = sweep(("20 kHz", "50 kHz"))
    typed = {"sweep///20 kHz": "-1", "sweep///50 kHz": "-4"}
    plain = named(results_of(scene, [step], typed), "level_db", point="20 kHz")
    mended = replace(scene, bench_response=own_response())
    results = results_of(mended, [step], typed)
    level = named(results, "level_db", point="20 kHz")
    assert level.value == pytest.approx(-0.4)
    assert level.label == "Level at 20 kHz less the bench's -0.60 dB"
    assert level.typed == "-1"
    # The scale's error is one for both readings and partly cancels; the looks are apart.
    scale = plain.measure.terms["ac decibel scale"] - 0.02
    looks = math.hypot(
        *(term for source, term in plain.measure.terms.items() if "scale" not in source), 0.1
    )
    assert level.measure.standard_uncertainty == pytest.approx(math.hypot(scale, looks))
    # Beyond what was read of the bench nothing is taken off.
    assert named(results, "level_db", point="50 kHz").value == -4.0
    asked = {prompt.point: prompt.ask for prompt in Workings([step], KINDS, mended).prompts}
    assert "less the bench's -0.60 dB" in asked["20 kHz"]
    assert asked["50 kHz"] == "Level at 50 kHz, the bench not read there"


def test_the_bench_is_interpolated_between_its_readings() -> None:
    own = own_response()
    between = own.at(math.sqrt(20e3 * 40e3), 1000.0)
    assert between is not None
    # The square of the frequency is doubled from 20 to 28.3 kHz, and again to 40 kHz: a third.
    assert between.value == pytest.approx(-0.8)
    # A straight line would give -0.9 dB; half of the difference is the half-width of the doubt.
    assert between.terms["bench between readings 28284.3 Hz"] == pytest.approx(0.05 / 3**0.5)
    assert own.at(10.0, 1000.0) is None
    assert own.at(1000.0, 1000.0) == Uncertain(0.0)


def test_a_bench_of_one_pole_is_followed_between_its_readings() -> None:
    # scipy's first-order response as the oracle: 150 kHz, read at the points of bench-check.
    hertz = np.array([1e3, 5e3, 1e4, 2e4, 5e4, 1e5])
    b, a = signal.butter(1, 2 * math.pi * 150e3, "low", analog=True)

    def level(at: np.ndarray) -> np.ndarray:
        return 20 * np.log10(np.abs(signal.freqs(b, a, 2 * math.pi * at)[1]))

    read = zip(hertz.tolist(), (level(hertz) - level(hertz[:1])).tolist(), strict=True)
    own = bench_response("log", [(each, Uncertain(there)) for each, there in read], (), 1000.0)
    between = np.array([7e3, 14e3, 31.5e3, 63e3, 80e3])
    for each, there in zip(between.tolist(), level(between).tolist(), strict=True):
        found = own.at(each, 1000.0)
        assert found is not None
        assert abs(found.value - (there - level(hertz[:1])[0])) < found.expanded_uncertainty


def test_a_sweep_of_the_bench_itself_is_left_as_it_is(scene: Scene) -> None:
    mended = replace(scene, bench_response=own_response())
    results = results_of(mended, [sweep(("20 kHz",), of_bench=True)], {"sweep///20 kHz": "-1"})
    assert named(results, "level_db").value == -1.0


def test_what_is_recorded_of_the_bench_reads_back_the_same() -> None:
    own = own_response()
    assert read_bench_response(own.recorded()) == own
    assert read_bench_response(None) is None


@pytest.mark.parametrize(
    "recorded",
    [
        "x",
        {},
        {"log": "a", "levels": [1]},
        {"log": "a", "levels": [{"hertz": "x"}]},
        {
            "log": "a",
            "reference": 1e3,
            "levels": [{"hertz": 1e3, "level_db": 0, "terms": {"a": 1}, "spread": {"a": {}}}],
        },
    ],
)
def test_a_record_of_another_shape_is_refused(recorded: object) -> None:
    with pytest.raises(ValueError, match="does not say"):
        read_bench_response(recorded)


# Uncertainty
