"""The square wave that a sweep predicts, against scipy and the formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal

from stepwise.run import Run, plan_from_texts
from stepwise.science import (
    EndOfResponse,
    analyse_square,
    predicted_rise_s,
    predicted_square,
    predicted_tilt_percent,
    tilt_percent,
)
from tests.run.plans import BENCH, UNIT, Clock

FLAT = EndOfResponse(0)
PROCEDURE = """\
[procedure]
title = "Sweep and square"
revision = 1
summary = "sweep, then square"
[[step]]
id = "sweep"
kind = "sweep"
title = "Sweep"
repeat = ["channel"]
points = ["10 Hz", "20 Hz", "40 Hz", "80 Hz", "200 Hz", "5 kHz", "20 kHz", "40 kHz", "80 kHz"]
[[step]]
id = "square"
kind = "square"
title = "Square"
repeat = ["channel"]
looks = [
 { tone = "100 Hz", look_for = ["tilt"] },
 { tone = "10 kHz", capacitor = "100 nF", look_for = ["overshoot"] },
]
"""


def _simulated(hertz: float, low: EndOfResponse, high: EndOfResponse) -> np.ndarray:
    """The last of many periods by scipy, 4000 samples, the rising edge at a quarter."""
    z, p, k = [], [], 1.0
    for end, side in ((low, "low"), (high, "high")):
        if end.corner_hertz is None:
            continue
        omega = 2 * np.pi * end.corner_hertz
        poles = [-omega] if end.q is None else list(np.roots([1, omega / end.q, omega**2]))
        p += poles
        if side == "low":
            z += [0.0] * len(poles)
        else:
            k *= omega ** len(poles)
    # in time relative to a period, so that nothing is ill conditioned
    scale = 1.0 / hertz
    system = signal.ZerosPolesGain(
        np.array(z) * scale, np.array(p) * scale, k * scale ** (len(p) - len(z))
    )
    periods = 30
    time = np.arange(4000 * periods) / 4000
    wave = np.where((time - 0.25) % 1.0 < 0.5, 1.0, -1.0)
    _, out, _ = signal.lsim(system.to_ss(), wave, time, interp=False)
    return out[-4000:]


@pytest.mark.parametrize(
    ("low", "high"),
    [
        (EndOfResponse(1, 5.0), EndOfResponse(1, 2e3)),
        (EndOfResponse(2, 10.0, q=0.9), EndOfResponse(2, 3e3, q=1.3)),
        (FLAT, EndOfResponse(2, 1e3, q=0.5)),
    ],
    ids=["first", "second", "equal poles"],
)
def test_the_wave_is_that_of_scipy(low: EndOfResponse, high: EndOfResponse) -> None:
    times, wave = predicted_square(100.0, low, high, 401)
    expected = np.interp(times, np.arange(4000) / 4000, _simulated(100.0, low, high))

    away = np.abs(wave - expected)
    # scipy holds each sample for a four-thousandth of a period: an edge is off by that much
    assert np.median(away) < 2e-3
    assert away.max() < 0.05


@pytest.mark.parametrize("corner", [0.5, 5.0, 20.0])
def test_the_tilt_of_a_first_order_end_is_the_exact_one(corner: float) -> None:
    found = predicted_tilt_percent(50.0, EndOfResponse(1, corner))
    assert found == pytest.approx(tilt_percent(corner, 50.0), rel=2e-3)


def test_rise_times_are_those_of_the_orders() -> None:
    assert predicted_rise_s(FLAT) is None
    assert predicted_rise_s(EndOfResponse(1, 20e3)) == pytest.approx(17.485e-6, rel=1e-4)
    # normalised rise times of second-order steps, as published for 0.3 and 0.7 of damping
    for zeta, normalised in ((0.3, 1.32134), (0.5, 1.63757), (0.7, 2.12620)):
        found = predicted_rise_s(EndOfResponse(2, 1e3, q=0.5 / zeta))
        assert found == pytest.approx(normalised / (2 * math.pi * 1e3), rel=1e-4)
    # two equal poles: 3.3579 time constants
    assert predicted_rise_s(EndOfResponse(2, 1e3, q=0.5)) == pytest.approx(
        3.3579 / (2 * math.pi * 1e3), rel=1e-3
    )


def test_the_analysis_of_a_predicted_wave_gives_back_what_it_was_made_of() -> None:
    low, high = EndOfResponse(1, 4.0), EndOfResponse(2, 3e3, q=1.0)
    _, wave = predicted_square(100.0, low, high, 4001)
    found = analyse_square(np.tile(wave[:-1], 3), 400e3)

    assert found.tilt_percent == pytest.approx(tilt_percent(4.0, 100.0), rel=0.01)
    assert found.rise_time_s == pytest.approx(predicted_rise_s(high), rel=0.01)
    assert found.overshoot_percent == pytest.approx(16.3034, abs=0.2)


def test_a_run_tells_the_trace_once_the_sweep_has_an_end(tmp_path) -> None:
    plan = plan_from_texts(PROCEDURE, UNIT, BENCH, "sweep-square")
    tilt, capacitor = "square/{}//100 Hz/none/tilt", "square/{}//10 kHz/100 nF/overshoot"
    with Run.start(plan, tmp_path, Clock()) as run:
        assert run.trace(tilt.format("left")) is None
        run.take("sweep/left//reference", "2.0 on 3")
        # one pole at 20 Hz and one at 40 kHz
        levels = {"10 Hz": "-7", "20 Hz": "-3", "40 Hz": "-1", "80 Hz": "-0.3", "200 Hz": "0",
                  "5 kHz": "0", "20 kHz": "-1", "40 kHz": "-3", "80 kHz": "-7"}  # fmt: skip
        for point, level in levels.items():
            run.take(f"sweep/left//{point}", level, sure=True)

        trace = run.trace(tilt.format("left"))
        assert trace is not None
        assert len(trace.times) == len(trace.volts) >= 100
        assert (trace.times[0], trace.times[-1]) == (0.0, 1.0)
        assert max(trace.volts) > 1.1  # a tilted top begins high
        told = float(trace.says.split("a tilt of ")[1].split(" %")[0])
        assert told == pytest.approx(tilt_percent(20.0, 100.0), rel=0.1)
        assert "a rise time of" in trace.says
        assert trace.says.startswith("By the sweep so far, 100 Hz should show")
        assert run.trace(tilt.format("right")) is None
        assert run.trace(capacitor.format("left")) is None
        assert run.trace("sweep/left//10 Hz") is None
