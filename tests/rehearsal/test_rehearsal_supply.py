"""The simulated supply: charge and energy balance, sag, and a circuit solver as oracle."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from stepwise.rehearsal.supply import DualSupply

CURRENTS = [0.0, 0.05, 0.3, 1.0, 2.2, 4.0]
SUPPLIES = [
    DualSupply(),
    DualSupply(regulation=0.2, secondary_volts=18.0, rating_va=80.0),
    DualSupply(regulation=0.04, wiring_ohms=0.2, mains_ratio=1.06, mains_hertz=60.0),
]


@pytest.mark.parametrize("supply", SUPPLIES)
@pytest.mark.parametrize("current", CURRENTS)
def test_energy_in_is_energy_out_and_losses(supply: DualSupply, current: float) -> None:
    rail = supply.rail(current)
    spent = rail.output_watts + rail.resistance_watts + rail.diode_watts
    assert rail.source_watts == pytest.approx(spent, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("supply", SUPPLIES)
@pytest.mark.parametrize("current", CURRENTS[1:])
def test_pulses_bring_the_charge_that_is_taken(supply: DualSupply, current: float) -> None:
    rail = supply.rail(current)
    angle = (np.arange(400_000) + 0.5) * np.pi / 400_000
    across = math.sqrt(2.0) * supply.open_volts * np.sin(angle)
    pulse = np.maximum(across - rail.mean_volts - supply.diode_volts, 0.0) / supply.path_ohms
    assert pulse.mean() == pytest.approx(current, rel=1e-5)
    assert math.sqrt((pulse**2).mean()) == pytest.approx(rail.winding_rms, rel=1e-5)


@pytest.mark.parametrize("average", [True, False])
def test_loaded_winding_against_the_sampled_wave(average: bool) -> None:
    supply = DualSupply()
    rail = supply.rail(1.5)
    angle = (np.arange(400_000) + 0.5) * np.pi / 400_000
    across = math.sqrt(2.0) * supply.open_volts * np.sin(angle)
    pulse = np.maximum(across - rail.mean_volts - supply.diode_volts, 0.0) / supply.path_ohms
    terminal = across - supply.winding_ohms * pulse
    shown = (
        terminal.mean() * math.pi / (2.0 * math.sqrt(2.0))
        if average
        else math.sqrt((terminal**2).mean())
    )
    assert supply.secondary(rail, average=average) == pytest.approx(shown, rel=1e-6)


@pytest.mark.parametrize("supply", SUPPLIES)
def test_rails_sag_with_load(supply: DualSupply) -> None:
    rails = [supply.rail(current) for current in np.linspace(0.0, 4.0, 41)]
    for less, more in itertools.pairwise(rails):
        assert more.mean_volts < less.mean_volts
        assert more.trough_volts < less.trough_volts
        assert more.ripple_volts > less.ripple_volts


def test_circuit_solved_in_time_agrees() -> None:
    supply, current = DualSupply(), 1.2
    omega = 2.0 * math.pi * supply.mains_hertz

    def charge(seconds: float, volts: np.ndarray) -> list[float]:
        across = math.sqrt(2.0) * supply.open_volts * abs(math.sin(omega * seconds))
        pulse = max(0.0, across - supply.diode_volts - volts[0]) / supply.path_ohms
        return [(pulse - current) / supply.reservoir_farads]

    rail = supply.rail(current)
    solved = solve_ivp(charge, (0.0, 0.4), [rail.mean_volts], max_step=5e-5, rtol=1e-6)
    settled = solved.y[0][solved.t > 0.3]
    assert settled.mean() == pytest.approx(rail.mean_volts, rel=0.01)
    assert settled.max() - settled.min() == pytest.approx(rail.ripple_volts, rel=0.15)


def test_idle_rail_is_the_peak_less_a_diode() -> None:
    supply = DualSupply()
    expected = math.sqrt(2.0) * supply.open_volts - supply.diode_volts
    assert supply.rail(0.0).mean_volts == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("current", [-0.1, 1000.0])
def test_impossible_currents_are_refused(current: float) -> None:
    with pytest.raises(ValueError, match="no rail can deliver"):
        DualSupply().rail(current)


def test_resistance_in_the_negative_path_lowers_that_rail_alone() -> None:
    sound, faulty = DualSupply(), DualSupply(minus_extra_ohms=1.0)
    assert faulty.rail(1.2) == sound.rail(1.2)
    fall = sound.rail(1.2, negative=True).mean_volts - faulty.rail(1.2, negative=True).mean_volts
    # Pulses are several times their mean, so an ohm costs several volts for each ampere.
    assert 1.2 < fall < 6.0


def test_a_leak_loads_its_rail_and_heats_its_reservoir() -> None:
    sound, leaky = DualSupply(), DualSupply(plus_leak_amps=0.3)
    assert leaky.rail(1.0, negative=True) == sound.rail(1.0, negative=True)
    rail = leaky.rail(1.0)
    assert rail.mean_volts == pytest.approx(sound.rail(1.3).mean_volts, rel=1e-12)
    lost_in_leak = 0.3 * rail.mean_volts
    lost_in_ohms = (rail.winding_rms**2 - 1.3**2) * leaky.reservoir_ohms
    assert rail.reservoir_watts == pytest.approx(lost_in_leak + lost_in_ohms)
    spent = rail.output_watts + rail.resistance_watts + rail.diode_watts + lost_in_leak
    assert rail.source_watts == pytest.approx(spent, rel=1e-6)
