"""Supply and output: conventions, signs, agreement of one formula with another."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from stepwise.science import (
    average_rail_current,
    ceiling_power,
    corner_for_capacitance,
    damping_factor,
    discharge_time_s,
    headroom_loss,
    load_power,
    parallel_impedance_ohms,
    rail_from_secondary,
    rail_to_rail,
    regulation_percent,
    ripple_peak_to_peak,
    ripple_rms,
    rms_from_peak,
    sag_percent,
    sagging_ceiling_peak,
    source_impedance_open,
    source_impedance_two_loads,
)

volts = st.floats(1.0, 200.0)
ohms = st.floats(1.0, 100.0)


def test_sag_is_over_idle_and_regulation_over_load() -> None:
    assert sag_percent(45.0, 40.0) == pytest.approx(100 * 5 / 45)
    assert regulation_percent(45.0, 40.0) == pytest.approx(100 * 5 / 40)


def test_a_negative_rail_sags_positively() -> None:
    assert sag_percent(-45.0, -40.0) == pytest.approx(sag_percent(45.0, 40.0))


@given(volts, volts)
def test_both_conventions_speak_of_the_same_change(idle: float, loaded: float) -> None:
    down, up = sag_percent(idle, loaded) / 100.0, regulation_percent(idle, loaded) / 100.0

    assert (1.0 - down) * (1.0 + up) == pytest.approx(1.0)


def test_no_rail_at_all_is_refused() -> None:
    with pytest.raises(ValueError, match="idle_volts is zero"):
        sag_percent(0.0, 10.0)
    with pytest.raises(ValueError, match="full_load_volts is zero"):
        regulation_percent(10.0, 0.0)


@given(st.floats(10.0, 100.0), ohms, st.floats(0.0, 5.0))
def test_a_stage_at_its_ceiling_loses_just_its_drop(rail: float, load: float, drop: float) -> None:
    rms = rms_from_peak(rail - drop)

    assert load_power(rms, load) == pytest.approx(ceiling_power(rail, load, drop))
    assert headroom_loss(rail, rms) == pytest.approx(drop, abs=1e-9)


def test_average_rail_current_is_the_mean_of_a_half_wave() -> None:
    mean, _ = quad(lambda angle: 40.0 / 8.0 * max(0.0, math.sin(angle)), 0.0, math.pi)

    assert average_rail_current(40.0, 8.0) == pytest.approx(mean / (2.0 * math.pi))


def test_sagging_ceiling_solves_its_own_equation() -> None:
    def shortfall(peak: float) -> float:
        return 38.0 - 0.6 * average_rail_current(peak, 8.0) - 3.0 - peak

    assert sagging_ceiling_peak(38.0, 0.6, 8.0, 3.0) == pytest.approx(brentq(shortfall, 0, 40))


def test_stiff_supply_has_the_plain_ceiling() -> None:
    peak = sagging_ceiling_peak(35.0, 0.0, 8.0, 3.0)

    assert load_power(rms_from_peak(peak), 8.0) == pytest.approx(ceiling_power(35.0, 8.0, 3.0))


def test_a_drop_beyond_the_rail_is_refused() -> None:
    with pytest.raises(ValueError, match="rail_volts - drop_volts"):
        ceiling_power(2.0, 8.0, 3.0)


def test_one_diode_is_the_default_of_a_rail() -> None:
    assert rail_from_secondary(24.0) == pytest.approx(24.0 * math.sqrt(2.0) - 0.9)


def test_rail_to_rail_takes_the_negative_rail_signed() -> None:
    assert rail_to_rail(34.8, -35.1) == pytest.approx(69.9)


def test_rms_of_ripple_is_that_of_a_sawtooth() -> None:
    saw = np.linspace(-1.5, 1.5, 100001)

    assert ripple_rms(3.0) == pytest.approx(np.sqrt(np.mean(saw**2)), rel=1e-4)
    assert ripple_peak_to_peak(3.0, 0.01, 50.0) == pytest.approx(
        2 * ripple_peak_to_peak(3.0, 0.02, 50.0)
    )


@given(st.floats(1.0, 50.0), st.floats(0.001, 5.0), ohms)
def test_a_divider_gives_back_its_source(emf: float, source: float, load: float) -> None:
    loaded = emf * load / (load + source)

    assert source_impedance_open(emf, loaded, load) == pytest.approx(source, rel=1e-6)


@given(st.floats(1.0, 50.0), st.floats(0.01, 5.0), ohms, st.floats(1.1, 4.0))
def test_two_loads_give_back_the_source(emf: float, source: float, load: float, k: float) -> None:
    first, second = emf * load / (load + source), emf * load * k / (load * k + source)

    found = source_impedance_two_loads(first, load, second, load * k)
    assert found == pytest.approx(source, rel=1e-5)


def test_nothing_is_told_of_the_source_by_the_same_load_twice() -> None:
    with pytest.raises(ValueError, match="same current"):
        source_impedance_two_loads(10.0, 8.0, 10.0, 8.0)
    with pytest.raises(ValueError, match="no bound"):
        damping_factor(8.0, 0.0)


def test_discharge_goes_by_the_exponential() -> None:
    tau = 0.01 * 2200.0

    assert discharge_time_s(0.01, 2200.0, 50.0, 50.0 * math.exp(-2.0)) == pytest.approx(2 * tau)


def test_a_capacitor_across_the_load_halves_its_power_at_their_corner() -> None:
    corner = corner_for_capacitance(2.2e-6, 8.0)

    assert parallel_impedance_ohms(8.0, 2.2e-6, corner) == pytest.approx(8.0 / math.sqrt(2.0))
