"""Power and levels: round trips, and what is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stepwise.science import (
    dbu_from_volts,
    load_current,
    load_power,
    peak_from_rms,
    peak_to_peak_from_rms,
    power_ratio_db,
    power_ratio_from_db,
    ratio_from_db,
    rms_from_peak,
    rms_from_peak_to_peak,
    voltage_ratio_db,
    volts_for_power,
    volts_from_dbu,
)

volts = st.floats(1e-6, 1e3)
ohms = st.floats(0.1, 1e5)
levels = st.floats(-150.0, 80.0)


@given(volts, ohms)
def test_power_and_its_voltage_are_inverse(rms: float, load: float) -> None:
    assert volts_for_power(load_power(rms, load), load) == pytest.approx(rms, rel=1e-12)
    assert load_power(rms, load) == pytest.approx(rms * load_current(rms, load), rel=1e-12)


@given(volts)
def test_peak_and_peak_to_peak_are_inverse_to_rms(rms: float) -> None:
    assert rms_from_peak(peak_from_rms(rms)) == pytest.approx(rms, rel=1e-15)
    assert rms_from_peak_to_peak(peak_to_peak_from_rms(rms)) == pytest.approx(rms, rel=1e-15)
    assert peak_to_peak_from_rms(rms) == 2.0 * peak_from_rms(rms)


@given(levels)
def test_levels_and_ratios_are_inverse(level: float) -> None:
    assert voltage_ratio_db(ratio_from_db(level), 1.0) == pytest.approx(level, abs=1e-10)
    assert power_ratio_db(power_ratio_from_db(level), 1.0) == pytest.approx(level, abs=1e-10)
    assert dbu_from_volts(volts_from_dbu(level)) == pytest.approx(level, abs=1e-10)


@given(volts, volts, ohms)
def test_a_level_is_the_same_by_voltage_and_by_power(a: float, b: float, load: float) -> None:
    by_power = power_ratio_db(load_power(a, load), load_power(b, load))

    assert voltage_ratio_db(a, b) == pytest.approx(by_power, abs=1e-9)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_a_level_of_nothing_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="volts must be a positive number"):
        voltage_ratio_db(bad, 1.0)
    with pytest.raises(ValueError, match="reference_volts"):
        voltage_ratio_db(1.0, bad)
    with pytest.raises(ValueError, match="p_ref"):
        power_ratio_db(1.0, bad)


def test_a_negative_power_has_no_voltage() -> None:
    with pytest.raises(ValueError, match="power_watts"):
        volts_for_power(-1.0, 8.0)
