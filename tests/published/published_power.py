"""Sine power, conversions, levels, meter response: checks against published values."""

from __future__ import annotations

from functools import partial as p

from published_check import Check, given

from stepwise.science import (
    AVERAGE_METER_ON_NOISE,
    average_meter_reading,
    clipped_mean_square,
    dbu_from_volts,
    load_current,
    load_power,
    peak_from_rms,
    peak_load_current,
    peak_to_peak_from_rms,
    power_ratio_db,
    power_ratio_from_db,
    power_ratio_of_volts,
    ratio_from_db,
    rms_from_peak_to_peak,
    voltage_ratio_db,
    volts_for_power,
    volts_from_dbu,
)

JOULE = "Joule's law, sine geometry"
LEVEL = "definition of the decibel"
DBU = "0 dBu = 1 mW in 600 ohm, broadcasting practice"
FTC = "16 CFR 432.3, preconditioning at one-eighth of rated power"
METER = "textbook on average-responding meters; clipped-sine integral"


def _average_error_percent(overdrive: float) -> float:
    true = clipped_mean_square(overdrive) ** 0.5
    return 100.0 * (average_meter_reading(overdrive) / true - 1.0)


CHECKS: tuple[Check, ...] = (
    given("20 V RMS in 8 ohm, power [W]", JOULE, 50.0, p(load_power, 20.0, 8.0)),
    given("20 V RMS, peak [V]", JOULE, 28.2843, p(peak_from_rms, 20.0)),
    given("20 V RMS, peak-to-peak [V]", JOULE, 56.5685, p(peak_to_peak_from_rms, 20.0)),
    given("20 V RMS in 8 ohm, current [A]", JOULE, 2.5, p(load_current, 20.0, 8.0)),
    given("28.2843 V RMS in 8 ohm, power [W]", JOULE, 100.0, p(load_power, 28.2843, 8.0)),
    given("2.83 V RMS in 8 ohm, power [W]", JOULE, 1.00111, p(load_power, 2.83, 8.0)),
    given("1 W in 8 ohm, voltage [V]", JOULE, 2.82843, p(volts_for_power, 1.0, 8.0)),
    given("14.2 V RMS in 4 ohm, power [W]", JOULE, 50.4100, p(load_power, 14.2, 4.0)),
    given("14.2 V RMS, peak [V]", JOULE, 20.0818, p(peak_from_rms, 14.2)),
    given("17.3 V RMS in 15 ohm, power [W]", JOULE, 19.9527, p(load_power, 17.3, 15.0)),
    given("17.3 V RMS, peak-to-peak [V]", JOULE, 48.9318, p(peak_to_peak_from_rms, 17.3)),
    given(
        "35.6 V peak-to-peak in 4 ohm, power [W]",
        JOULE,
        39.6050,
        lambda: load_power(rms_from_peak_to_peak(35.6), 4.0),
    ),
    given(
        "mains 230 V RMS, peak [V]",
        "trade table 117/165, 230/325",
        325.0,
        p(peak_from_rms, 230.0),
        0.5,
    ),
    given(
        "mains 117 V RMS, peak [V]",
        "trade table 117/165, 230/325",
        165.0,
        p(peak_from_rms, 117.0),
        0.5,
    ),
    given("power doubled [dB]", LEVEL, 3.01030, p(power_ratio_db, 2.0, 1.0)),
    given("voltage halved [dB]", LEVEL, -6.02060, p(voltage_ratio_db, 0.5, 1.0)),
    given("-0.5 dB, voltage ratio", LEVEL, 0.944061, p(ratio_from_db, -0.5)),
    given("-1 dB, voltage ratio", LEVEL, 0.891251, p(ratio_from_db, -1.0)),
    given("-3 dB, voltage ratio", LEVEL, 0.707946, p(ratio_from_db, -3.0)),
    given("-1 dB, power ratio", LEVEL, 0.794328, p(power_ratio_from_db, -1.0)),
    given("-3 dB, power ratio", LEVEL, 0.501187, p(power_ratio_from_db, -3.0)),
    given("28.2843 V [dB re 1 V]", LEVEL, 29.0309, p(voltage_ratio_db, 28.2843, 1.0)),
    given("1 V RMS [dBu]", DBU, 2.21849, p(dbu_from_volts, 1.0)),
    given("+4 dBu [V]", DBU, 1.22765, p(volts_from_dbu, 4.0)),
    given("+4 dBu, as published [V]", DBU, 1.228, p(volts_from_dbu, 4.0), 0.0005),
    given("+4 dBu [dB re 1 V]", DBU, 1.78151, lambda: voltage_ratio_db(volts_from_dbu(4.0), 1.0)),
    given("-10 dBV [dBu]", DBU, -7.78151, lambda: dbu_from_volts(ratio_from_db(-10.0))),
    given("-10 dBV [V]", LEVEL, 0.316228, p(ratio_from_db, -10.0)),
    given("20 V out of 0.775 V in, gain [dB]", LEVEL, 28.2346, p(voltage_ratio_db, 20.0, 0.775)),
    given("100 W in 8 ohm, one-eighth [V]", FTC, 10.0, p(volts_for_power, 12.5, 8.0)),
    given("60 W in 8 ohm, one-eighth [V]", FTC, 7.74597, p(volts_for_power, 7.5, 8.0)),
    given("one-eighth of a power [dB]", FTC, -9.03090, p(power_ratio_db, 1.0, 8.0)),
    given(
        "250 mW in 8 ohm [V]",
        "16 CFR 432.2, lowest level",
        1.41421,
        p(volts_for_power, 0.25, 8.0),
    ),
    given(
        "250 mW [dB re 100 W]",
        "16 CFR 432.2, lowest level",
        -26.0206,
        p(power_ratio_db, 0.25, 100.0),
    ),
    given(
        "-10 dB of 28.2843 V in 8 ohm [W]",
        "IEC 60268-3 standard measuring conditions (from memory)",
        10.0,
        lambda: load_power(28.2843 * ratio_from_db(-10.0), 8.0),
    ),
    given("clipped sine A 1.1, average meter [V]", METER, 0.757624, p(average_meter_reading, 1.1)),
    given("clipped sine A 1.5, average meter [V]", METER, 0.864816, p(average_meter_reading, 1.5)),
    given("clipped sine A 2, average meter [V]", METER, 0.929949, p(average_meter_reading, 2.0)),
    given("clipped sine A 4, average meter [V]", METER, 1.02186, p(average_meter_reading, 4.0)),
    given(
        "clipped sine A 2, meter too high by [%]",
        METER,
        5.16098,
        p(_average_error_percent, 2.0),
    ),
    given(
        "clipped sine A 10, meter too high by [%]",
        METER,
        9.89327,
        p(_average_error_percent, 10.0),
    ),
    given(
        "Gaussian noise, average meter over RMS [dB]",
        METER,
        -1.04910,
        lambda: voltage_ratio_db(AVERAGE_METER_ON_NOISE, 1.0),
    ),
    given(
        "square wave, average meter too high by [%]",
        "textbook: reads 11 % high",
        11.0721,
        p(_average_error_percent, 1e6),
        1e-4,
    ),
    given(
        "28.2843 V RMS in 8 ohm, peak current [A]", JOULE, 5.0, p(peak_load_current, 28.2843, 8.0)
    ),
    given("20 V RMS in 8 ohm, peak current [A]", JOULE, 3.53553, p(peak_load_current, 20.0, 8.0)),
    given("14.2 V RMS in 4 ohm, peak current [A]", JOULE, 5.02046, p(peak_load_current, 14.2, 4.0)),
    given(
        "RMS at 10 % over RMS at the onset, as power",
        "clipped-sine integral",
        1.28776,
        p(power_ratio_of_volts, 0.802421, 0.707107),
        1e-5,
    ),
)
