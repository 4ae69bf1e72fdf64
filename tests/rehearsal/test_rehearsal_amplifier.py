"""The simulated network: scipy and plain nodal analysis as oracles, sweep and square wave."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from by_hand import high_corner_hertz, low_corner_hertz
from scipy import signal

from stepwise.rehearsal.amplifier import Channel, Circuit
from stepwise.rehearsal.square import square_picture, square_trace

CIRCUITS = [
    Circuit(8.0, 600.0),
    Circuit(4.0, 50.0, 100e-9),
    Circuit(8.0, 600.0, 2.2e-6),
    Circuit(None, 600.0),
]
FREQUENCIES = [3.0, 20.0, 1e3, 20e3, 70e3, 300e3, 1e6]


def nodal(channel: Channel, circuit: Circuit, hertz: float) -> complex:
    """The same network by impedances, one part after the other."""
    s = 2j * math.pi * hertz
    coupling = 1.0 / (s * channel.coupling_farads)
    divided = channel.input_ohms / (channel.input_ohms + circuit.source_ohms + coupling)
    drive = channel.gain * divided / (1.0 + s / (2.0 * math.pi * channel.input_filter_hertz))
    unity = 2.0 * math.pi * channel.loop_hertz
    second = 2.0 * math.pi * channel.second_pole_hertz
    loop_gain = unity / s / (1.0 + s / second)
    inside = channel.open_loop_ohms / (1.0 + loop_gain)
    choke = s * channel.inductor_henries
    damping = channel.inductor_damping_ohms
    series = inside + channel.wiring_ohms + choke * damping / (choke + damping)
    admittance = s * circuit.across_farads
    if circuit.load_ohms is not None:
        admittance += 1.0 / circuit.load_ohms
    drive /= 1.0 + s / (2.0 * math.pi * channel.feedback_hertz)
    if channel.feedback_leg_hertz:
        # Gain 1 + Rf / Zg, the leg being Rg and its capacitor in series: any Rg will do.
        leg_ohms = 1e3
        farads = 1.0 / (2.0 * math.pi * leg_ohms * channel.feedback_leg_hertz)
        gain = 1.0 + (channel.gain - 1.0) * leg_ohms / (leg_ohms + 1.0 / (s * farads))
        drive *= gain / channel.gain
    return drive * loop_gain / (1.0 + loop_gain) / (1.0 + series * admittance)


def plain() -> Channel:
    """Without inductor, and without load as rational function that is short to write down."""
    return Channel("left", inductor_henries=0.0)


def transfer(channel: Channel, source_ohms: float) -> signal.TransferFunction:
    total = (channel.input_ohms + source_ohms) * channel.coupling_farads
    omega = [2.0 * math.pi * f for f in (channel.input_filter_hertz, channel.loop_hertz)]
    second = 2.0 * math.pi * channel.second_pole_hertz
    bottom = np.polymul(
        np.polymul([total, 1.0], [1.0 / omega[0], 1.0]),
        [1.0 / (omega[1] * second), 1.0 / omega[1], 1.0],
    )
    top = [channel.gain * channel.input_ohms * channel.coupling_farads, 0.0]
    return signal.TransferFunction(top, bottom)


@pytest.mark.parametrize("circuit", CIRCUITS)
@pytest.mark.parametrize("hertz", FREQUENCIES)
@pytest.mark.parametrize("henries", [0.0, 6e-6])
def test_response_against_nodal_analysis(circuit: Circuit, hertz: float, henries: float) -> None:
    channel = Channel("left", inductor_henries=henries)
    expected = nodal(channel, circuit, hertz)
    assert channel.response(hertz, circuit) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("hertz", FREQUENCIES)
def test_capacitors_in_the_feedback_against_nodal_analysis(hertz: float) -> None:
    channel = Channel("left", feedback_hertz=13e3, feedback_leg_hertz=32.0)
    expected = nodal(channel, CIRCUITS[0], hertz)
    assert channel.response(hertz, CIRCUITS[0]) == pytest.approx(expected, rel=1e-6)


def test_response_against_scipy() -> None:
    channel = plain()
    _, expected = signal.freqresp(transfer(channel, 600.0), 2.0 * math.pi * np.array(FREQUENCIES))
    got = [channel.response(hertz, Circuit(None, 600.0)) for hertz in FREQUENCIES]
    assert np.allclose(got, expected, rtol=1e-6, atol=0.0)


def test_square_wave_against_scipy() -> None:
    # A corner near the square wave's frequency: the steady state is there after few periods.
    channel = replace(plain(), coupling_farads=15e-9)
    hertz, periods, samples = 2e3, 12, 4000
    time = np.arange(periods * samples) / (samples * hertz)
    source = np.where(np.arange(periods * samples) % samples < samples // 2, 1.0, -1.0)
    _, output, _ = signal.lsim(transfer(channel, 600.0), source, time, interp=False)
    modes = channel.modes(Circuit(None, 600.0))
    half = samples // 2
    got = [square_trace(modes, hertz, seconds) for seconds in time[:half]]
    last = output[-samples:-half]
    assert np.allclose(got, last, rtol=0.0, atol=1e-6 * np.abs(last).max())


@pytest.mark.parametrize("circuit", CIRCUITS)
def test_square_wave_against_its_harmonics(circuit: Circuit) -> None:
    channel, hertz = Channel("left"), 10e3
    modes = channel.modes(circuit)
    orders = np.arange(1, 4001, 2)
    gains = np.array([nodal(channel, circuit, hertz * int(order)) for order in orders])
    for seconds in (2e-6, 5e-6, 12e-6, 33e-6, 48e-6):
        phases = np.exp(2j * np.pi * hertz * orders * seconds)
        series = float((4.0 / np.pi / orders * (gains * phases).imag).sum())
        expected = pytest.approx(series, abs=1e-3 * channel.gain)
        assert square_trace(modes, hertz, seconds) == expected


@pytest.mark.parametrize("hertz", [20.0, 100.0, 1e3])
def test_tilt_is_the_exponential_of_the_low_corner(hertz: float) -> None:
    channel, circuit = Channel("left"), Circuit(8.0, 600.0)
    expected = -math.expm1(-math.pi * low_corner_hertz(channel, 600.0) / hertz)
    assert square_picture(channel.modes(circuit), hertz).tilt == pytest.approx(expected)


def test_low_corner_is_where_the_level_is_three_decibels_down() -> None:
    channel, circuit = Channel("left"), Circuit(8.0, 600.0)
    corner = low_corner_hertz(channel, 600.0)
    ratio = abs(channel.response(corner, circuit) / channel.response(1e3, circuit))
    assert ratio == pytest.approx(1.0 / math.sqrt(2.0), rel=1e-3)


def test_high_corner_and_rise_time_go_together() -> None:
    channel, circuit = Channel("left"), Circuit(8.0, 600.0)
    corner = high_corner_hertz(channel, circuit)
    rise = square_picture(channel.modes(circuit), 10e3).rise_time
    assert 60e3 < corner < 90e3
    # 0.35 is one pole's; the loop and the choke add theirs.
    assert rise * corner == pytest.approx(0.35, rel=0.1)


def test_ringing_of_inductor_and_capacitor() -> None:
    # A stiff, fast stage leaves only the choke, the load and the capacitor: second order.
    channel = Channel(
        "left",
        input_filter_hertz=60e6,
        loop_hertz=80e6,
        second_pole_hertz=400e6,
        open_loop_ohms=1e-3,
        wiring_ohms=1e-6,
        inductor_damping_ohms=1e6,
        inductor_henries=10e-6,
    )
    load, farads = 22.0, 100e-9
    picture = square_picture(channel.modes(Circuit(load, 0.0, farads)), 2e3)
    zeta = math.sqrt(10e-6 / farads) / (2.0 * load)
    natural = 1.0 / (2.0 * math.pi * math.sqrt(10e-6 * farads))
    damped = math.sqrt(1.0 - zeta * zeta)
    assert picture.ringing_hertz == pytest.approx(natural * damped, rel=0.01)
    assert picture.overshoot == pytest.approx(math.exp(-math.pi * zeta / damped), rel=0.02)


def test_capacitor_finds_out_a_missing_inductor() -> None:
    sound = Channel("left")
    circuit = Circuit(8.0, 600.0, 100e-9)
    faulty = square_picture(replace(sound, inductor_henries=0.0).modes(circuit), 10e3)
    assert square_picture(sound.modes(circuit), 10e3).ringing_cycles == 0
    assert faulty.ringing_cycles > 5
    assert faulty.overshoot > 0.1


def test_oscillation_is_not_drawn_as_a_square_wave() -> None:
    channel = Channel("left", inductor_henries=0.0)
    modes = channel.modes(Circuit(8.0, 600.0, 1e-6))
    with pytest.raises(ValueError, match="oscillates"):
        square_picture(modes, 10e3)
