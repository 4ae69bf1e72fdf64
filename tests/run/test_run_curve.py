"""The curve of a sweep draws the model that was fitted, whatever its family."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from stepwise.judge import Result
from stepwise.quantities import Uncertain
from stepwise.run.curve import sweep_curve
from stepwise.steps import SweepFields

HERTZ = (10.0, 20.0, 50.0, 200.0, 5e3, 2e4, 5e4, 1e5)
STEP = SweepFields(id="sweep", title="S", points=tuple(f"{each:g} Hz" for each in HERTZ))


def result(name: str, value: float, point: str | None = None, channel: str = "left") -> Result:
    return Result("sweep", channel, None, point, name, Uncertain(value), "dB", name)


def butterworth(hertz: np.ndarray) -> np.ndarray:
    """Second order at 18 Hz and 60 kHz, by scipy [dB]."""
    total = np.zeros_like(hertz)
    for corner, kind in ((18.0, "high"), (60e3, "low")):
        b, a = signal.butter(2, 2 * np.pi * corner, kind, analog=True)
        total += 20 * np.log10(np.abs(signal.freqs(b, a, 2 * np.pi * hertz)[1]))
    return total


def read(shift: float = 0.0) -> list[Result]:
    levels = butterworth(np.array(HERTZ)) + shift
    return [
        result("level_db", float(level), text)
        for level, text in zip(levels, STEP.points, strict=True)
    ]


ENDS = [
    result("corner_low", 18.0),
    result("order_low", 2.0),
    result("q_low", 0.5**0.5),
    result("corner_high", 60e3),
    result("order_high", 2.0),
    result("q_high", 0.5**0.5),
]


@pytest.mark.parametrize("shift", [0.0, 0.4])
def test_a_second_order_model_is_drawn_through_the_readings(shift: float) -> None:
    curve = sweep_curve(STEP, "left", [*read(shift), *ENDS])
    hertz, levels = (np.array(each) for each in zip(*curve.model, strict=True))
    np.testing.assert_allclose(levels, butterworth(hertz) + shift, atol=1e-6)
    assert hertz[0] == pytest.approx(10.0)
    assert hertz[-1] == pytest.approx(1e5)
    assert curve.marks == {"corner_low": 18.0, "corner_high": 60e3}


def test_one_end_alone_is_drawn_too() -> None:
    curve = sweep_curve(STEP, "left", [*read(), ENDS[3], *ENDS[4:]])
    levels = dict(curve.model)
    assert levels[min(levels)] == pytest.approx(0.0, abs=0.2)


def test_an_odd_reading_is_marked_and_does_not_lift_the_model() -> None:
    results = [*read(), *ENDS, result("outlier", -3.0, "200 Hz")]
    results[3] = result("level_db", -3.0, "200 Hz")
    curve = sweep_curve(STEP, "left", results)
    assert curve.outliers == (200.0,)
    assert -3.0 in curve.levels_db
    hertz, levels = (np.array(each) for each in zip(*curve.model, strict=True))
    np.testing.assert_allclose(levels, butterworth(hertz), atol=1e-6)


def test_without_a_corner_there_is_no_model() -> None:
    assert sweep_curve(STEP, "left", read()).model == ()
    assert sweep_curve(STEP, "left", ENDS).model == ()
    other = [result(each.name, each.value, each.point, "right") for each in (*read(), *ENDS)]
    assert sweep_curve(STEP, "left", other).frequencies == ()
