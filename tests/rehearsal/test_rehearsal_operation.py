"""Clean and clipped power on a supply that gives way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from by_hand import heat_watts, low_corner_hertz

from stepwise.rehearsal import good_board
from stepwise.rehearsal.heat import Cooling, Warmth
from stepwise.rehearsal.operation import Stage

BOARD = good_board(11)


def stage(load_ohms: float) -> Stage:
    return BOARD.stage("left", load_ohms)


@pytest.mark.parametrize("load_ohms", [4.0, 8.0, 16.0])
def test_rails_deliver_what_load_and_heat_take(load_ohms: float) -> None:
    for peak in (0.5, 5.0, 15.0, 24.0):
        working = stage(load_ohms).at(peak)
        mean = peak / (math.pi * load_ohms)
        idle = BOARD.idle_amps
        own = BOARD.channels[0].quiescent_amps
        current = idle - own + math.hypot(own, mean)
        delivered = current * (working.plus.mean_volts + working.minus.mean_volts)
        out = peak * peak / (2.0 * load_ohms) + heat_watts(working)
        assert delivered == pytest.approx(out, rel=1e-6)
        assert heat_watts(working) > 0.0


@pytest.mark.parametrize("load_ohms", [4.0, 8.0])
def test_clean_peak_meets_the_lower_trough(load_ohms: float) -> None:
    channel, working = BOARD.channel("left"), stage(load_ohms).clean()
    peak = math.sqrt(2.0) * working.rms_volts
    ohms = channel.drop_ohms + channel.wiring_ohms
    room = [
        working.plus.trough_volts - channel.drop_plus_volts,
        working.minus.trough_volts - channel.drop_minus_volts,
    ]
    assert peak == pytest.approx(min(room) - ohms * peak / load_ohms, abs=1e-6)


def test_rails_fall_as_the_level_rises() -> None:
    rails = [stage(8.0).at(peak).plus.mean_volts for peak in np.linspace(0.0, 26.0, 20)]
    assert all(np.diff(rails) < 0.0)


@pytest.mark.parametrize("load_ohms", [4.0, 8.0])
def test_clipped_wave_has_ten_percent(load_ohms: float) -> None:
    channel, working = BOARD.channel("left"), stage(load_ohms).clipped(10.0)
    ohms = channel.drop_ohms + channel.wiring_ohms

    def limit(trough: float, drop: float) -> float:
        return (trough - drop) / (1.0 + ohms / load_ohms)

    plus = limit(working.plus.trough_volts, channel.drop_plus_volts)
    minus = limit(working.minus.trough_volts, channel.drop_minus_volts)
    sine = np.sin(2.0 * np.pi * np.arange(8192) / 8192)

    def wave(peak: float) -> np.ndarray:
        return np.clip(peak * sine, -minus, plus)

    def thd(peak: float) -> float:
        lines = np.abs(np.fft.rfft(wave(peak)))
        return float(100.0 * np.sqrt((lines[2:] ** 2).sum()) / lines[1])

    low, high = 1.0, 200.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if thd(middle) < 10.0 else (low, middle)
    found = wave(low)
    assert working.rms_volts == pytest.approx(math.sqrt((found**2).mean()), rel=2e-4)
    average = np.abs(found).mean() * math.pi / (2.0 * math.sqrt(2.0))
    assert working.average_volts == pytest.approx(average, rel=2e-4)
    positive = np.maximum(found, 0.0).mean() / load_ohms
    own, idle = channel.quiescent_amps, BOARD.idle_amps
    assert working.plus.current == pytest.approx(idle - own + math.hypot(own, positive), rel=1e-3)


@pytest.mark.parametrize("seed", range(8))
def test_good_boards_are_what_such_boards_are(seed: int) -> None:
    board = good_board(seed)
    eight, four = (board.stage("right", ohms).clean().load_watts for ohms in (8.06, 4.02))
    assert 42.0 < eight < 56.0
    assert 70.0 < four < 92.0
    assert 32.0 < board.idle().plus.mean_volts < 36.0
    for channel in board.channels:
        assert 4.0 < low_corner_hertz(channel, 600.0) < 8.5
        assert 28.0 < 20.0 * math.log10(channel.gain) < 30.0
        assert abs(channel.offset_volts) <= 0.02


def test_each_place_warms_up_exponentially() -> None:
    cooling = Cooling(ambient_celsius=20.0)
    warmth = Warmth(cooling).after(100.0, {"heatsink": 30.0})
    resistance, capacity = cooling.place("heatsink")
    rise = 30.0 * resistance * -math.expm1(-100.0 / (resistance * capacity))
    assert warmth.celsius("heatsink") == pytest.approx(20.0 + rise)
    assert warmth.celsius("transformer") == pytest.approx(20.0)
    assert warmth.celsius("window") is None


def test_heat_does_not_depend_on_how_time_is_cut() -> None:
    watts = {"heatsink": 20.0, "rectifier": 2.0}
    whole = Warmth(Cooling()).after(90.0, watts)
    parts = Warmth(Cooling())
    for _ in range(9):
        parts = parts.after(10.0, watts)
    for place in ("heatsink", "rectifier"):
        assert parts.rise[place] == pytest.approx(whole.rise[place])


def test_heat_stored_and_given_off_is_the_heat_put_in() -> None:
    cooling, warmth, given, step = Cooling(), Warmth(Cooling()), 0.0, 0.05
    resistance, capacity = cooling.place("heatsink")
    for _ in range(4000):
        before = warmth.rise["heatsink"]
        warmth = warmth.after(step, {"heatsink": 25.0})
        given += 0.5 * (before + warmth.rise["heatsink"]) / resistance * step
    stored = capacity * warmth.rise["heatsink"]
    assert stored + given == pytest.approx(25.0 * 4000 * step, rel=1e-6)


def test_time_does_not_run_backwards() -> None:
    with pytest.raises(ValueError, match="forward"):
        Warmth(Cooling()).after(-1.0, {})
