"""The whole supply: agreement with its parts and with a simulated rectifier."""

from __future__ import annotations

import math

import numpy as np
import pytest

from stepwise.science import (
    LinearSupply,
    predicted_ceiling,
    rail_at_current,
    rail_from_secondary,
    reservoir_margin_percent,
    sagging_ceiling_peak,
    transformer_source_ohms,
)

SUPPLY = LinearSupply(25.0, 0.5, 0.01, 50.0)


def test_a_rail_without_load_is_the_rectified_peak() -> None:
    assert rail_at_current(SUPPLY, 0.0) == pytest.approx(rail_from_secondary(25.0))


def test_an_endless_reservoir_leaves_the_sagging_rail() -> None:
    endless = LinearSupply(25.0, 0.6, 1e9, 50.0)

    ceiling = predicted_ceiling(endless, 8.0, 3.0)
    assert ceiling.peak_volts == pytest.approx(
        sagging_ceiling_peak(rail_from_secondary(25.0), 0.6, 8.0, 3.0)
    )
    assert ceiling.ripple_volts == pytest.approx(0.0, abs=1e-6)


def test_the_trough_of_the_ripple_just_holds_the_peak() -> None:
    ceiling = predicted_ceiling(SUPPLY, 4.0, 3.0, 0.95)

    trough = ceiling.rail_volts - ceiling.ripple_volts / 2.0
    assert trough - 3.0 == pytest.approx(ceiling.peak_volts)
    assert ceiling.power_watts == pytest.approx(ceiling.peak_volts**2 / 8.0)
    assert rail_at_current(SUPPLY, ceiling.rail_amperes, 0.95) == ceiling.rail_volts


def test_low_mains_allows_less() -> None:
    powers = [predicted_ceiling(SUPPLY, 8.0, 3.0, k).power_watts for k in (0.9, 1.0, 1.1)]

    assert powers == sorted(powers)


def test_a_simulated_rectifier_has_that_rail() -> None:
    # Ideal diodes, no source resistance, constant current: only ripple lowers the mean.
    dt, current, rail, rails = 1e-5, 1.5, 34.0, []
    for step in range(20000):
        peak = 25.0 * math.sqrt(2.0) * abs(math.sin(2 * math.pi * 50.0 * step * dt)) - 0.9
        rail = max(rail - current * dt / 0.01, peak)
        rails.append(rail)
    stiff = LinearSupply(25.0, 0.0, 0.01, 50.0)

    assert np.mean(rails[10000:]) == pytest.approx(rail_at_current(stiff, current), rel=0.01)


def test_source_resistance_of_a_transformer_reproduces_its_regulation() -> None:
    source = transformer_source_ohms(24.0, 160.0, 10.0, 2)
    rated = 160.0 / 48.0

    assert source * rated == pytest.approx(math.sqrt(2.0) * 2.4)
    with pytest.raises(ValueError, match="windings"):
        transformer_source_ohms(24.0, 160.0, 10.0, 0)


def test_a_reservoir_past_its_rating_has_a_negative_margin() -> None:
    assert reservoir_margin_percent(50.0, 47.0) < 0.0 < reservoir_margin_percent(50.0, 45.0)


def test_a_drop_beyond_the_rail_is_refused() -> None:
    with pytest.raises(ValueError, match="rail less drop_volts"):
        predicted_ceiling(SUPPLY, 8.0, 60.0)
