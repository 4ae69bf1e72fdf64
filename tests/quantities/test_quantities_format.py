"""Figures as they are printed."""

# One case a line reads better than one argument a line.

from __future__ import annotations

import math

import pytest

from stepwise.errors import NotationError
from stepwise.quantities import Uncertain, exact, format_number, format_uncertain, format_value


@pytest.mark.parametrize(
    ("value", "unit", "printed"),
    [
        (26.4, "Hz", "26.4 Hz"), (80e3, "Hz", "80 kHz"), (0.5, "Hz", "0.5 Hz"),
        (0.33e-6, "F", "0.33 µF"), (4.7e-9, "F", "4.7 nF"), (4.7e-3, "F", "4700 µF"),
        (1.0, "F", "1 F"), (0.0123, "V", "12.3 mV"), (12.0, "mV", "12 mV"), (0.33, "V", "330 mV"),
        (8.06, "ohm", "8.06 Ω"), (8.0, "ohm", "8 Ω"), (22e3, "ohm", "22 kΩ"),
        (-3.01, "dB", "-3.01 dB"), (-0.02, "dB", "-0.02 dB"), (1500.0, "W", "1.5 kW"),
        (61.0, "C", "61 °C"), (12.5, "%", "12.5 %"), (3.5e-6, "s", "3.5 µs"), (15.0, "s", "15 s"),
        (599.0, "s", "599 s"), (1500.0, "s", "25 min"), (5e5, "V/s", "0.5 V/µs"), (42.0, "", "42"),
        (0.0, "V", "0 V"), (-0.0, "V", "0 V"), (999.96, "V", "1 kV"), (1e3, "Hz", "1 kHz"),
        (160.0, "VA", "160 VA"), (0.8, "K/W", "0.8 K/W"), (12345.0, "", "12345"),
        (math.nan, "V", "—"), (math.inf, "V", "—"), (-math.inf, "", "—"), (2e-20, "F", "2e-08 pF"),
    ],
)  # fmt: skip
def test_value_with_its_unit(value, unit, printed):
    assert format_value(value, unit) == printed


@pytest.mark.parametrize(
    ("value", "unit", "digits", "printed"),
    [
        (80e3, "Hz", 3, "80.0 kHz"), (26.4, "Hz", 3, "26.4 Hz"), (26.449, "Hz", 3, "26.4 Hz"),
        (9.999, "V", 3, "10.0 V"), (999.9, "V", 3, "1.00 kV"), (1234.0, "ohm", 2, "1.2 kΩ"),
        (-3.0103, "dB", 3, "-3.01 dB"), (0.0, "V", 3, "0.00 V"),
    ],
)  # fmt: skip
def test_digits_are_significant_digits(value, unit, digits, printed):
    assert format_value(value, unit, digits=digits) == printed


@pytest.mark.parametrize(
    ("value", "unit", "step", "printed"),
    [
        (20.0, "V", 0.1, "20.0 V"), (0.33, "V", 0.01, "0.33 V"), (0.025, "V", 0.001, "25 mV"),
        (0.0, "V", 0.001, "0 mV"), (0.0, "V", 0.01, "0.00 V"), (1e3, "Hz", 1.0, "1.000 kHz"),
        (1e3, "Hz", 1e3, "1 kHz"), (500.0, "V", 10.0, "500 V"), (16.9706, "V", 0.0354, "16.97 V"),
        (-0.004, "dB", 0.1, "0.0 dB"), (1e-7, "F", 1e-9, "0.100 µF"), (5.0, "V", math.nan, "5 V"),
    ],
)  # fmt: skip
def test_step_sets_the_last_place(value, unit, step, printed):
    assert format_value(value, unit, step=step) == printed


@pytest.mark.parametrize(
    ("value", "standard", "unit", "printed"),
    [
        (50.0, 0.6, "W", "50.0 ± 1.2 W"),
        (50.0, 0.559017, "W", "50.0 ± 1.1 W"),
        (99.8616, 1.43327, "W", "99.9 ± 2.9 W"),
        (-3.0103, 0.0614, "dB", "-3.01 ± 0.12 dB"),
        (0.33, 0.006, "V", "330 ± 12 mV"),
        (0.33, 0.06, "V", "0.33 ± 0.12 V"),
        (503.0, 60.0, "W", "500 ± 120 W"),
        (5.0, 600.0, "W", "0.0 ± 1.2 kW"),
        (61.0, 0.85, "C", "61.0 ± 1.7 °C"),
        (0.33e-6, 10e-9, "F", "0.330 ± 0.020 µF"),
        (26.4, 0.4998, "Hz", "26.4 ± 1.0 Hz"),
        (127.732, 0.0710714, "ohm", "127.73 ± 0.14 Ω"),
        (24.0, 5.0, "", "24 ± 10"),
        (math.nan, 1.0, "V", "—"),
        (1.0, math.inf, "V", "1 V ± —"),
    ],
)
def test_uncertainty_has_two_figures_and_the_value_ends_with_it(value, standard, unit, printed):
    assert format_uncertain(Uncertain(value, {"meter": standard}), unit) == printed


def test_exact_values_have_no_uncertainty_printed():
    assert format_uncertain(exact(8.0), "ohm") == "8 Ω"
    assert format_uncertain(Uncertain(8.0, {"rounding": 1e-16}), "ohm") == "8 Ω"


@pytest.mark.parametrize(
    ("value", "digits", "printed"),
    [
        (0.125, None, "0.125"), (1.0 / 3.0, None, "0.3333"), (1e9, None, "1e+09"),
        (2.0, 3, "2.00"), (math.nan, None, "—"), (-0.0, None, "0"), (123456.0, None, "123456"),
    ],
)  # fmt: skip
def test_plain_number(value, digits, printed):
    assert format_number(value, digits) == printed


def test_an_unknown_unit_is_refused():
    with pytest.raises(NotationError):
        format_value(1.0, "furlong")
    with pytest.raises(NotationError):
        format_value(math.nan, "furlong")
