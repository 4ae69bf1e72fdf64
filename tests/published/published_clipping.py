"""Clipped sines, distortion, noise weighting: checks against published values."""

from __future__ import annotations

import math
from functools import partial as p

import numpy as np
from published_check import Check, given

from stepwise.science import (
    THD_OF_SQUARE_PERCENT,
    a_weighting_db,
    clipped_harmonics,
    exact_third_octave,
    nearest_third_octave,
    noise_bandwidth_hertz,
    overdrive_for_thd,
    power_ratio_db,
    power_ratio_for_overdrive,
    power_ratio_for_thd,
    signal_to_noise_db,
    thd_for_overdrive,
    thd_from_harmonics,
    thd_of_total_percent,
    without_meter_noise,
)

FOURIER = "Fourier series of a clipped sine"
DESCRIBING = "saturation describing function, control textbook"
SQUARE = "audio text: 100 W clipped to a square wave"
WEIGHTING = "IEC 61672-1, table of A-weighting at exact frequencies"
ANNEX = "IEC 61672-1 annex E, formula at literal frequencies"
FREE = math.inf


def _harmonic(overdrive: float, order: int, negative: float = 1.0) -> float:
    return float(clipped_harmonics(overdrive, max(order, 1), negative)[order])


def _harmonic_percent(overdrive: float, order: int, negative: float = 1.0) -> float:
    return 100.0 * abs(_harmonic(overdrive, order, negative) / _harmonic(overdrive, 1, negative))


def _square_watts(order: int) -> float:
    """Power of one harmonic where 100 W at the onset is driven to a square wave."""
    return 100.0 * _harmonic(1e9, order) ** 2


def _weighted_white_db() -> float:
    """A-weighted against flat white noise, 20 Hz to 20 kHz, trapezium over 1 Hz steps."""
    hertz = np.arange(20.0, 20001.0)
    return float(
        10.0 * np.log10(np.trapezoid(10.0 ** (a_weighting_db(hertz) / 10.0), hertz) / 19980.0)
    )


def _thd_rows() -> list[Check]:
    table = (
        (0.1, 1.00423, 1.00782),
        (0.5, 1.01616, 1.02765),
        (1.0, 1.02935, 1.04751),
        (3.0, 1.07965, 1.11185),
        (5.0, 1.13193, 1.16675),
        (10.0, 1.28427, 1.28776),
        (20.0, 1.75734, 1.49941),
        (30.0, 2.77300, 1.68974),
    )
    rows = []
    for thd, overdrive, power in table:
        rows.append(given(f"THD {thd} %: overdrive", FOURIER, overdrive, p(overdrive_for_thd, thd)))
        rows.append(
            given(f"THD {thd} %: power over onset", FOURIER, power, p(power_ratio_for_thd, thd))
        )
    return rows


def _overdrive_rows() -> list[Check]:
    table = (
        (1.05, 1.81873, 1.16019, 0.987609, 1.07572),
        (1.1, 3.79433, 2.88320, 2.08257, 1.13437),
        (1.25, 8.97858, 8.18592, 3.47083, 1.26426),
        (1.5, 15.3488, 15.0036, 1.66706, 1.40438),
        (2.0, 23.2938, 22.6326, 4.52653, 1.56401),
        (5.0, 37.9274, 31.5652, 16.9189, 1.82955),
    )
    rows = []
    for overdrive, thd, third, fifth, power in table:
        rows += [
            given(f"overdrive {overdrive}: THD [%]", FOURIER, thd, p(thd_for_overdrive, overdrive)),
            given(
                f"overdrive {overdrive}: third [%]",
                FOURIER,
                third,
                p(_harmonic_percent, overdrive, 3),
            ),
            given(
                f"overdrive {overdrive}: fifth [%]",
                FOURIER,
                fifth,
                p(_harmonic_percent, overdrive, 5),
            ),
            given(
                f"overdrive {overdrive}: power over onset",
                FOURIER,
                power,
                p(power_ratio_for_overdrive, overdrive),
            ),
        ]
    return rows


def _one_sided_rows() -> list[Check]:
    table = (
        (1.05, FREE, -0.00328228, 0.605305, 0.576481, 1.35045),
        (1.1, FREE, -0.00909026, 1.55960, 1.41782, 2.87611),
        (1.25, FREE, -0.0338996, 4.83531, 3.86825, 7.05518),
        (1.25, 1.1, -0.0182103, 2.50123, 6.13773, 7.48306),
    )
    rows = []
    for overdrive, negative, mean, second, third, thd in table:
        name = f"overdrive {overdrive}, negative side " + (
            "free" if negative == FREE else f"at -{negative}"
        )
        rows += [
            given(f"{name}: mean", FOURIER, mean, p(_harmonic, overdrive, 0, negative)),
            given(
                f"{name}: second [%]",
                FOURIER,
                second,
                p(_harmonic_percent, overdrive, 2, negative),
            ),
            given(
                f"{name}: third [%]",
                FOURIER,
                third,
                p(_harmonic_percent, overdrive, 3, negative),
            ),
            given(f"{name}: THD [%]", FOURIER, thd, p(thd_for_overdrive, overdrive, negative)),
        ]
    return rows


def _weighting_rows() -> list[Check]:
    table = (
        (10, -70.4),
        (12.5, -63.4),
        (16, -56.7),
        (20, -50.5),
        (25, -44.7),
        (31.5, -39.4),
        (40, -34.6),
        (50, -30.2),
        (63, -26.2),
        (80, -22.5),
        (100, -19.1),
        (125, -16.1),
        (160, -13.4),
        (200, -10.9),
        (250, -8.6),
        (315, -6.6),
        (400, -4.8),
        (500, -3.2),
        (630, -1.9),
        (800, -0.8),
        (1000, 0.0),
        (1250, 0.6),
        (1600, 1.0),
        (2000, 1.2),
        (2500, 1.3),
        (3150, 1.2),
        (4000, 1.0),
        (5000, 0.5),
        (6300, -0.1),
        (8000, -1.1),
        (10000, -2.5),
        (12500, -4.3),
        (16000, -6.6),
        (20000, -9.3),
    )
    return [
        given(
            f"A-weighting at {nominal} Hz [dB]",
            WEIGHTING,
            level,
            lambda f=nominal: a_weighting_db(exact_third_octave(nearest_third_octave(f))),
            0.05 + 1e-9,
        )
        for nominal, level in table
    ]


CHECKS: tuple[Check, ...] = (
    given("describing function, A 2", DESCRIBING, 0.608998, lambda: _harmonic(2.0, 1) / 2.0),
    given("describing function, A 1.25", DESCRIBING, 0.895912, lambda: _harmonic(1.25, 1) / 1.25),
    given("describing function, A 4", DESCRIBING, 0.314962, lambda: _harmonic(4.0, 1) / 4.0),
    given("A 2: fundamental", FOURIER, 1.21800, p(_harmonic, 2.0, 1)),
    # About the crest the third is negative where a sine series has it positive.
    given("A 2: third", FOURIER, -0.275664, p(_harmonic, 2.0, 3)),
    given("A 2: fifth", FOURIER, 0.0551329, p(_harmonic, 2.0, 5)),
    given("A 2: seventh", FOURIER, 0.0196903, p(_harmonic, 2.0, 7)),
    *_thd_rows(),
    *_overdrive_rows(),
    *_one_sided_rows(),
    given(
        "10 % over onset [dB]",
        FOURIER,
        1.09836,
        lambda: power_ratio_db(power_ratio_for_thd(10.0), 1.0),
    ),
    given("power, 10 % over 1 %", FOURIER, 1.22936, p(power_ratio_for_thd, 10.0, 1.0)),
    given("power, 10 % over 0.1 %", FOURIER, 1.27777, p(power_ratio_for_thd, 10.0, 0.1)),
    given("square wave: THD [%]", FOURIER, 48.3426, lambda: THD_OF_SQUARE_PERCENT),
    given(
        "square wave: THD of the total [%]",
        FOURIER,
        43.5236,
        lambda: thd_of_total_percent(THD_OF_SQUARE_PERCENT),
    ),
    given("square wave: fundamental [W]", SQUARE, 162.0, p(_square_watts, 1), 0.5),
    given("square wave: third [W]", SQUARE, 18.0, p(_square_watts, 3), 0.5),
    given("square wave: fifth [W]", SQUARE, 6.5, p(_square_watts, 5), 0.05),
    given("square wave: seventh [W]", SQUARE + ", printed as 3 W", 3.30845, p(_square_watts, 7)),
    given("THD 10 %, of the total [%]", "definition", 9.95037, p(thd_of_total_percent, 10.0)),
    given(
        "harmonics 10, 4, 2 %: THD [%]",
        "Boylestad and Nashelsky (from memory)",
        10.9545,
        p(thd_from_harmonics, 1.0, (0.1, 0.04, 0.02)),
    ),
    given(
        "the same: total over fundamental power",
        "Boylestad and Nashelsky (from memory)",
        1.012,
        lambda: 1.0 + (thd_from_harmonics(1.0, (0.1, 0.04, 0.02)) / 100.0) ** 2,
    ),
    *_weighting_rows(),
    given("A-weighting at 50 Hz [dB]", ANNEX, -30.2716, p(a_weighting_db, 50.0)),
    given("A-weighting at 100 Hz [dB]", ANNEX, -19.1428, p(a_weighting_db, 100.0)),
    given("A-weighting at 2 kHz [dB]", ANNEX, 1.20140, p(a_weighting_db, 2000.0)),
    given("A-weighting at 20 kHz [dB]", ANNEX, -9.34691, p(a_weighting_db, 20000.0)),
    given(
        "white noise 20 Hz to 20 kHz, A against flat [dB]",
        ANNEX,
        -2.04827,
        _weighted_white_db,
        1e-4,
    ),
    given(
        "20 V over 120 uV [dB]",
        "definition of the decibel",
        104.437,
        p(signal_to_noise_db, 20.0, 120e-6),
    ),
    given(
        "120 uV under 1 W in 8 ohm [dB]",
        "definition of the decibel",
        87.4473,
        p(signal_to_noise_db, 8.0**0.5, 120e-6),
    ),
    given("0.5 with 0.3 of the meter", "root of squares", 0.4, p(without_meter_noise, 0.5, 0.3)),
    given(
        "noise bandwidth of a pole over its corner",
        "integral of the response",
        1.57080,
        p(noise_bandwidth_hertz, 1.0),
    ),
)
