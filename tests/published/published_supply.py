"""Supply, reservoirs, source impedance: checks against published values."""

from __future__ import annotations

from functools import partial as p

from published_check import Check, given

from stepwise.science import (
    average_rail_current,
    ceiling_power,
    damping_factor,
    discharge_time_s,
    headroom_loss,
    load_power,
    parallel_impedance_ohms,
    power_ratio_for_thd,
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
    stored_energy_joules,
    transformer_load_percent,
    voltage_ratio_db,
)

PSU = "textbook worked example on rectifiers"
LEVEL = "definition of the decibel"
DIVIDER = "voltage divider of source and load"
MODEL = "mean of a half-wave rectified sine, sagging rail"
TOUCH = "IEC 62368-1 Table 4 (from memory): 60 V DC between any two parts"


def _sagging_power(load: float) -> float:
    return load_power(rms_from_peak(sagging_ceiling_peak(38.0, 0.6, load, 3.0)), load)


def _damping_open(open_volts: float, loaded: float, load: float) -> float:
    return damping_factor(8.0, source_impedance_open(open_volts, loaded, load))


CHECKS: tuple[Check, ...] = (
    given(
        "12 V winding, two diodes of 0.8 V [V]",
        PSU,
        15.370,
        p(rail_from_secondary, 12.0, 1.6),
        0.001,
    ),
    given(
        "25 V winding, 1 V diode [V]",
        "peak less one diode",
        34.3553,
        p(rail_from_secondary, 25.0, 1.0),
    ),
    given(
        "35 V winding, 0.9 V diode [V]",
        "peak less one diode",
        48.5975,
        p(rail_from_secondary, 35.0),
    ),
    given(
        "2 A, 1000 uF, 60 Hz ripple [V pp]",
        PSU,
        16.6667,
        p(ripple_peak_to_peak, 2.0, 1e-3, 60.0),
    ),
    given(
        "0.8 A, 300 uF, 60 Hz ripple [V pp]",
        PSU,
        22.2222,
        p(ripple_peak_to_peak, 0.8, 300e-6, 60.0),
    ),
    given(
        "0.8 A, 300 uF, 60 Hz ripple [V RMS]",
        PSU,
        6.41500,
        lambda: ripple_rms(ripple_peak_to_peak(0.8, 300e-6, 60.0)),
    ),
    given(
        "the same by the 2.4 I / C rule [V RMS]",
        PSU,
        6.4,
        lambda: ripple_rms(ripple_peak_to_peak(0.8, 300e-6, 60.0)),
        0.02,
    ),
    given(
        "3 A, 10 000 uF, 50 Hz ripple [V pp]",
        "I / 2fC",
        3.0,
        p(ripple_peak_to_peak, 3.0, 0.01, 50.0),
    ),
    given(
        "1.5 A, 4700 uF, 60 Hz ripple [V pp]",
        "I / 2fC",
        2.65957,
        p(ripple_peak_to_peak, 1.5, 4700e-6, 60.0),
    ),
    given(
        "45 V to 40 V, regulation up [%]",
        "definition, both in use",
        12.5,
        p(regulation_percent, 45.0, 40.0),
    ),
    given(
        "45 V to 40 V, sag down [%]",
        "definition, both in use",
        11.1111,
        p(sag_percent, 45.0, 40.0),
    ),
    given(
        "240 V to 230 V, regulation up [%]",
        "textbook, published 4.35 %",
        4.35,
        p(regulation_percent, 240.0, 230.0),
        0.005,
    ),
    given(
        "240 V to 230 V, sag down [%]",
        "definition, both in use",
        4.16667,
        p(sag_percent, 240.0, 230.0),
    ),
    given(
        "240 V to 220 V, regulation up [%]",
        "textbook, published 9.09 %",
        9.09091,
        p(regulation_percent, 240.0, 220.0),
    ),
    given(
        "38 V rail, 0.6 ohm, 3 V drop, 8 ohm: peak [V]",
        MODEL,
        34.1839,
        p(sagging_ceiling_peak, 38.0, 0.6, 8.0, 3.0),
    ),
    given(
        "the same: rail under load [V]",
        MODEL,
        37.1839,
        lambda: 38.0 - 0.6 * average_rail_current(sagging_ceiling_peak(38.0, 0.6, 8.0, 3.0), 8.0),
    ),
    given("the same: power [W]", MODEL, 73.0338, p(_sagging_power, 8.0)),
    given("the same with 4 ohm: power [W]", MODEL, 139.487, p(_sagging_power, 4.0)),
    given(
        "35 V rail, 3 V drop, 8 ohm ceiling [W]",
        "supply-limited sine",
        64.0,
        p(ceiling_power, 35.0, 8.0, 3.0),
    ),
    given(
        "the same at 1 % distortion [W]",
        "clipped-sine integral",
        67.0406,
        lambda: ceiling_power(35.0, 8.0, 3.0) * power_ratio_for_thd(1.0),
    ),
    given(
        "the same at 10 % distortion [W]",
        "clipped-sine integral",
        82.4166,
        lambda: ceiling_power(35.0, 8.0, 3.0) * power_ratio_for_thd(10.0),
    ),
    given(
        "stage that just fills 35 V - 3 V [V]",
        "inverse of the ceiling",
        3.0,
        lambda: headroom_loss(35.0, rms_from_peak(32.0)),
    ),
    given("+35 V and -35 V, rail to rail [V]", TOUCH, 70.0, p(rail_to_rail, 35.0, -35.0)),
    given(
        "10 000 uF, 50 V to 5 V by 2.2 kohm [s]",
        "first-order RC",
        50.6569,
        p(discharge_time_s, 0.01, 2200.0, 50.0, 5.0),
    ),
    given(
        "4700 uF, 63 V to 60 V by 4.7 kohm [s]",
        "first-order RC",
        1.07777,
        p(discharge_time_s, 4700e-6, 4700.0, 63.0, 60.0),
    ),
    given(
        "20 000 uF, 70 V to 10 V by 470 ohm [s]",
        "first-order RC",
        18.2916,
        p(discharge_time_s, 0.02, 470.0, 70.0, 10.0),
    ),
    given(
        "10 000 uF at 85 V, energy [J]",
        "C U^2 / 2",
        36.1250,
        p(stored_energy_joules, 0.01, 85.0),
    ),
    given(
        "8 ohm with 2.2 uF at 10 kHz [ohm]",
        "parallel RC",
        5.36576,
        p(parallel_impedance_ohms, 8.0, 2.2e-6, 10e3),
    ),
    given(
        "8 ohm with 2 uF at 10 kHz [ohm]",
        "parallel RC",
        5.64186,
        p(parallel_impedance_ohms, 8.0, 2e-6, 10e3),
    ),
    given(
        "8 ohm with 0.1 uF at 100 kHz [ohm]",
        "parallel RC",
        7.14781,
        p(parallel_impedance_ohms, 8.0, 0.1e-6, 100e3),
    ),
    given(
        "1 V to 0.9 V by 30 ohm: source [ohm]",
        "textbook, published 3.33 ohm",
        3.33,
        p(source_impedance_open, 1.0, 0.9, 30.0),
        0.005,
    ),
    given(
        "10.000 V to 9.960 V by 8 ohm: source [ohm]",
        DIVIDER,
        0.0321285,
        p(source_impedance_open, 10.0, 9.96, 8.0),
    ),
    given(
        "the same: damping factor",
        "IEC 60268-3 (from memory)",
        249.0,
        p(_damping_open, 10.0, 9.96, 8.0),
    ),
    given(
        "20.00 V to 19.80 V by 8 ohm: damping factor",
        DIVIDER,
        99.0,
        p(_damping_open, 20.0, 19.8, 8.0),
    ),
    given(
        "2.83 V to 2.75 V by 4 ohm: source [ohm]",
        DIVIDER,
        0.116364,
        p(source_impedance_open, 2.83, 2.75, 4.0),
    ),
    given(
        "10 V at 8 ohm, 9.92 V at 4 ohm: source [ohm]",
        DIVIDER,
        0.0650407,
        p(source_impedance_two_loads, 10.0, 8.0, 9.92, 4.0),
    ),
    given(
        "20 V at 8 ohm, 19.6 V at 4 ohm: source [ohm]",
        DIVIDER,
        0.166667,
        p(source_impedance_two_loads, 20.0, 8.0, 19.6, 4.0),
    ),
    given(
        "12 V at 12 ohm, 11.9 V at 8 ohm: source [ohm]",
        DIVIDER,
        0.205128,
        p(source_impedance_two_loads, 12.0, 12.0, 11.9, 8.0),
    ),
    given(
        "10 V to 9.96 V, output regulation [%]",
        "IEC 60268-3 (from memory)",
        0.401606,
        p(regulation_percent, 10.0, 9.96),
    ),
    given(
        "10 V to 9.96 V [dB]",
        LEVEL,
        -0.0348132,
        p(voltage_ratio_db, 9.96, 10.0),
    ),
    given("channels 20.0 V and 19.4 V [dB]", LEVEL, 0.264565, p(voltage_ratio_db, 20.0, 19.4)),
    given("crosstalk 6.3 mV of 20 V [dB]", LEVEL, -70.0338, p(voltage_ratio_db, 6.3e-3, 20.0)),
    given(
        "24 V, 1 A from each of two rails, 160 VA [%]",
        "design guides of transformer makers: I_dc = 0.62 I_ac (from memory)",
        48.3871,
        p(transformer_load_percent, 24.0, 1.0, 160.0),
    ),
)
