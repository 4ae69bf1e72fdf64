"""What is read off an oscilloscope, by eye and from a capture, has its uncertainty."""

from __future__ import annotations

import math

import pytest

from stepwise.bench import (
    Bench,
    Meter,
    MeterType,
    from_capture,
    measure,
    oscilloscope,
    parse_accuracy,
    parse_resolution,
)
from stepwise.quantities import Answer, Expected, Understood, correlation, parse_entry

SCOPE = Meter(
    "scope",
    MeterType.OSCILLOSCOPE,
    parse_accuracy("2 %"),
    resolution=parse_resolution("1/5 division"),
)
BENCH = Bench("Hall workshop", (SCOPE,))


def _read(text: str, unit: str) -> Understood:
    answer = Answer.SHARE if unit == "%" else Answer.QUANTITY
    entry = parse_entry(text, Expected(answer, unit))
    assert isinstance(entry, Understood)
    return entry


def test_a_time_by_eye_has_the_time_base_and_both_ends() -> None:
    # 4.2 us fills 4.2 divisions at 1 us: a fifth of a division at either end, 2 % throughout
    found = measure(_read("4.2 us", "us"), SCOPE, BENCH, "a/left//1/none/rise_time")

    eye = 0.2e-6 / math.sqrt(3.0)
    assert found.standard_uncertainty == pytest.approx(
        math.hypot(eye, eye, 0.02 * 4.2e-6 / math.sqrt(3.0))
    )


def test_divisions_say_the_time_base_themselves() -> None:
    found = measure(_read("4.2 div at 5 us", "us"), SCOPE, BENCH, "k")

    eye = 0.2 * 5e-6 / math.sqrt(3.0)
    assert found.value == pytest.approx(21e-6)
    assert found.standard_uncertainty == pytest.approx(
        math.hypot(eye, eye, 0.02 * 21e-6 / math.sqrt(3.0))
    )


def test_a_frequency_by_eye_is_as_good_as_the_time_of_its_period() -> None:
    time = measure(_read("4 us", "us"), SCOPE, BENCH, "k")
    frequency = measure(_read("250 kHz", "kHz"), SCOPE, BENCH, "k")

    assert frequency.standard_uncertainty / 250e3 == pytest.approx(time.standard_uncertainty / 4e-6)
    assert frequency.standard_uncertainty > 0.03 * 250e3  # not the half of a last digit
    other = measure(_read("300 kHz", "kHz"), SCOPE, BENCH, "other")
    assert correlation(frequency, other) > 0.0
    assert correlation(time, other) < 0.0


def test_a_bench_without_an_oscilloscope_has_a_common_one() -> None:
    bare = Bench("bare")
    found = measure(_read("4 us", "us"), oscilloscope(bare), bare, "k")

    assert found.standard_uncertainty == pytest.approx(
        math.hypot(0.1e-6, 0.1e-6, 0.03 * 4e-6) / math.sqrt(3.0)
    )


def test_nothing_has_no_uncertainty_of_its_own_size() -> None:
    assert math.isfinite(measure(_read("0", "us"), SCOPE, BENCH, "k").standard_uncertainty)
    assert math.isfinite(measure(_read("0", "kHz"), SCOPE, BENCH, "k").standard_uncertainty)


@pytest.mark.parametrize(
    ("text", "unit", "scale"),
    [("13.34 us", "us", 0.02), ("14.54 kHz", "kHz", 0.02), ("16.3 V", "V", 0.02),
     ("44.4 %", "%", 0.0), ("2", "", 0.0)],
)  # fmt: skip
def test_a_captured_value_keeps_the_captures_own_uncertainty(text, unit, scale) -> None:
    entry = _read(text, unit)
    found = from_capture(entry, 0.001 * entry.value, BENCH, "k")

    assert found.value == entry.value
    assert found.standard_uncertainty == pytest.approx(
        entry.value * math.hypot(0.001, scale / math.sqrt(3.0))
    )
