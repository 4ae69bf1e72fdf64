"""Sweeps: crossings, corner and capacitor, against published data and scipy."""

from __future__ import annotations

import math

import pytest

from stepwise.judge import Findings, LimitFields
from stepwise.judge.flags import find_flags
from stepwise.steps import SweepFields
from stepwise.steps.sweep_fields import SweepLimits
from tests.steps.conftest import Work, named

signal = pytest.importorskip("scipy.signal")

LOW = ("60 Hz", "30 Hz", "20 Hz", "10 Hz")
LIMITS = SweepLimits(minus_3db_low=LimitFields(max="20 Hz"))


def sweep(points: tuple[str, ...], **more: object) -> SweepFields:
    return SweepFields(id="sweep", title="Sweep", points=points, limits=LIMITS, **more)


def typed(points: tuple[str, ...], levels: list[str]) -> dict[str, str]:
    return {f"sweep///{point}": level for point, level in zip(points, levels, strict=True)}


def test_an_early_low_end_gives_its_corner_and_a_flag(work: Work) -> None:
    # Levels at 60, 30, 20, 10 Hz of -1, -2, -4.5, -10 dB: common practice, no source.
    results = work([sweep(LOW)], typed(LOW, ["-1", "-2", "-4.5", "-10"]))
    assert 24.0 < named(results, "corner_low").value < 30.0
    assert 20.0 < named(results, "minus_3db_low").value < 30.0
    flags = find_flags(Findings(results))
    assert [flag.name for flag in flags] == ["early-roll-off-low"]
    assert flags[0].likely[0].startswith("Coupling capacitor")


def test_the_capacitor_follows_from_corner_and_resistance(work: Work) -> None:
    results = work([sweep(LOW)], typed(LOW, ["-1", "-2", "-4.5", "-10"]))
    corner = named(results, "corner_low").value
    expected = 1.0 / (2.0 * math.pi * 22_000.0 * corner)
    assert named(results, "coupling_capacitance").value == pytest.approx(expected)
    # For -3 dB at 20 Hz into 22 kohm 0.36 uF are needed: the next E6 value up is 0.47 uF.
    assert named(results, "cure_capacitance").value == pytest.approx(0.47e-6)


def test_a_first_order_response_gives_back_its_corner(work: Work) -> None:
    # scipy.signal as the oracle: a first-order high-pass at 25 Hz, levels against 1 kHz.
    b, a = signal.butter(1, 2.0 * math.pi * 25.0, "high", analog=True)
    frequencies = [100.0, 63.0, 40.0, 25.0, 16.0, 10.0, 1000.0]
    _, response = signal.freqs(b, a, worN=[2.0 * math.pi * f for f in frequencies])
    levels = [20.0 * math.log10(abs(h) / abs(response[-1])) for h in response[:-1]]
    points = tuple(f"{f:g} Hz" for f in frequencies[:-1])
    results = work([sweep(points)], typed(points, [f"{level:.4f}" for level in levels]))
    assert named(results, "corner_low").value == pytest.approx(25.0, rel=1e-3)
    assert named(results, "minus_3db_low").value == pytest.approx(25.0, rel=0.02)


def test_a_flat_response_has_no_corner_and_no_flag(work: Work) -> None:
    results = work([sweep(LOW)], typed(LOW, ["flat", "flat", "0", "-0.25"]))
    assert not {"corner_low", "minus_3db_low", "coupling_capacitance"} & {r.name for r in results}
    assert find_flags(Findings(results)) == ()


def test_one_reading_is_enough_to_go_on(work: Work) -> None:
    results = work([sweep(LOW)], {"sweep///60 Hz": "-1"})
    assert [result.name for result in results] == ["level_db", "minus_1db_low"]


def test_the_reference_read_again_shows_the_drift(work: Work) -> None:
    answers = {"sweep///reference": "2.0 on 3", "sweep///reference_again": "1.9 on 3"}
    results = work([sweep(LOW)], answers)
    drift = named(results, "reference_drift")
    assert drift.value == pytest.approx(20.0 * math.log10(1.9 / 2.0))


def test_levels_within_the_band_are_held_against_the_limit(work: Work) -> None:
    limits = SweepLimits(
        level_db=LimitFields(target="0 dB", within="3 dB"), flatness=LimitFields(max="3 dB")
    )
    step = SweepFields(id="sweep", title="S", points=LOW, band=("20 Hz", "20 kHz"), limits=limits)
    results = work([step], typed(LOW, ["-1", "-2", "-4.5", "-10"]))
    judged = {r.label: r.judgement.verdict.value for r in results if r.name == "level_db"}
    assert judged == {
        "Level at 60 Hz": "in spec",
        "Level at 30 Hz": "in spec",
        "Level at 20 Hz": "out of spec",
        "Level at 10 Hz": "noted",
    }
    assert named(results, "flatness").value == pytest.approx(4.5)


def test_the_high_end_is_the_mirror(work: Work) -> None:
    points = ("5 kHz", "10 kHz", "20 kHz", "40 kHz")
    levels = [f"{-10.0 * math.log10(1.0 + (f / 15.0) ** 2):.3f}" for f in (5, 10, 20, 40)]
    limits = SweepLimits(minus_3db_high=LimitFields(min="20 kHz"))
    step = SweepFields(id="sweep", title="S", points=points, limits=limits)
    results = work([step], typed(points, levels))
    assert named(results, "corner_high").value == pytest.approx(15_000.0, rel=0.01)
    assert [flag.name for flag in find_flags(Findings(results))] == ["early-roll-off-high"]
