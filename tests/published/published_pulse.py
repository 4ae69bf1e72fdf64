"""Square waves and second-order steps: checks against published values."""

from __future__ import annotations

from functools import partial as p

from published_check import Check, given

from stepwise.science import (
    corner_from_rise_time,
    corner_from_tilt,
    damping_ratio_from_overshoot,
    full_power_hertz,
    natural_hertz,
    overshoot_from_damping_ratio,
    peak_time_s,
    quality_factor,
    resonance_peak_db,
    ringing_hertz,
    rise_time_alone,
    rise_time_from_corner,
    slew_rate,
    slewing_triangle_peak,
    slope_from_rise_time,
    tilt_percent,
    tilt_percent_of_half_swing,
)

TILT = "exponential decay over half a period"
MILLMAN = "steady-state tilt, textbook definition (from memory)"
BOYLESTAD = "Boylestad and Nashelsky, chapter 9 (from memory)"
POLE = "step response of one pole"
SECOND = "second-order step response, textbook table"
SINE = "derivative of a sine"

_STEP_TABLE = (
    # damping ratio, overshoot %, ringing over natural, peak dB (0: none), angle of the peak
    (0.1, 72.9248, 0.994987, 14.0230, 3.15742),
    (0.2, 52.6621, 0.979796, 8.13609, 3.20637),
    (0.3, 37.2326, 0.953939, 4.84656, 3.29328),
    (0.4, 25.3827, 0.916515, 2.69541, 3.42776),
    (0.5, 16.3034, 0.866025, 1.24939, 3.62760),
    (0.6, 9.47802, 0.800000, 0.354575, 3.92699),
    (0.7, 4.59879, 0.714143, 0.00173753, 4.39911),
)


def _step_rows() -> list[Check]:
    rows = []
    for zeta, overshoot, ringing, peak, angle in _STEP_TABLE:
        rows += [
            given(
                f"damping {zeta}: overshoot [%]",
                SECOND,
                overshoot,
                p(overshoot_from_damping_ratio, zeta),
            ),
            given(
                f"damping {zeta}: ringing over natural",
                SECOND,
                ringing,
                p(ringing_hertz, 1.0, zeta),
            ),
            given(f"damping {zeta}: resonance [dB]", SECOND, peak, p(resonance_peak_db, zeta)),
            given(
                f"damping {zeta}: angle of the top [rad]",
                SECOND,
                angle,
                lambda zeta=zeta: 2.0 * 3.141592653589793 * peak_time_s(1.0, zeta),
            ),
        ]
    return rows


CHECKS: tuple[Check, ...] = (
    given("50 Hz, corner 1.5 Hz: sag [%]", TILT, 8.99428, p(tilt_percent, 1.5, 50.0)),
    given("50 Hz, corner 5 Hz: sag [%]", TILT, 26.9597, p(tilt_percent, 5.0, 50.0)),
    given("5 kHz, corner 318.310 Hz: sag [%]", TILT, 18.1269, p(tilt_percent, 318.310, 5e3)),
    given(
        "50 Hz, corner 1.5 Hz: of half swing [%]",
        MILLMAN,
        9.41781,
        p(tilt_percent_of_half_swing, 1.5, 50.0),
    ),
    given(
        "50 Hz, corner 5 Hz: of half swing [%]",
        MILLMAN,
        31.1601,
        p(tilt_percent_of_half_swing, 5.0, 50.0),
    ),
    given(
        "5 kHz, corner 318.310 Hz: of half swing [%]",
        MILLMAN,
        19.9336,
        p(tilt_percent_of_half_swing, 318.310, 5e3),
    ),
    given(
        "sag 20 % at 5 kHz: exact corner [Hz]",
        BOYLESTAD,
        355.144,
        p(corner_from_tilt, 20.0, 5e3),
    ),
    given("sag 5 %: corner over frequency", TILT, 0.0163272, p(corner_from_tilt, 5.0, 1.0)),
    given("sag 10 %: corner over frequency", TILT, 0.0335373, p(corner_from_tilt, 10.0, 1.0)),
    given("sag 20 %: corner over frequency", TILT, 0.0710288, p(corner_from_tilt, 20.0, 1.0)),
    given("sag 30 %: corner over frequency", TILT, 0.113533, p(corner_from_tilt, 30.0, 1.0)),
    given("rise time 18 us: corner [Hz]", BOYLESTAD, 19427.7, p(corner_from_rise_time, 18e-6)),
    given(
        "the same by the 0.35 rule [Hz]",
        BOYLESTAD,
        19444.4,
        p(corner_from_rise_time, 18e-6),
        20.0,
    ),
    given(
        "corner 20 kHz: rise time [us]",
        POLE,
        17.4850,
        lambda: 1e6 * rise_time_from_corner(20e3),
    ),
    given(
        "corner 100 kHz: rise time [us]",
        POLE,
        3.49699,
        lambda: 1e6 * rise_time_from_corner(100e3),
    ),
    given("rise time 5 us: corner [Hz]", POLE, 69939.8, p(corner_from_rise_time, 5e-6)),
    given(
        "5 us less 2 us and 0.01 us [us]",
        "root of squares, practice",
        4.58256,
        lambda: 1e6 * rise_time_alone(5e-6, 2e-6, 0.01e-6),
    ),
    *_step_rows(),
    given(
        "damping 0.5, overshoot as published [%]",
        "control textbook: 16.3 %",
        16.3,
        p(overshoot_from_damping_ratio, 0.5),
        0.05,
    ),
    given(
        "damping 0.5, 10 rad/s: top at [s]",
        "control textbook: 0.36 s",
        0.36,
        p(peak_time_s, 10.0 / 6.283185307, 0.5),
        0.005,
    ),
    given("overshoot 5 %: damping", SECOND, 0.690107, p(damping_ratio_from_overshoot, 5.0)),
    given("overshoot 10 %: damping", SECOND, 0.591155, p(damping_ratio_from_overshoot, 10.0)),
    given("overshoot 20 %: damping", SECOND, 0.455950, p(damping_ratio_from_overshoot, 20.0)),
    given("overshoot 40 %: damping", SECOND, 0.279998, p(damping_ratio_from_overshoot, 40.0)),
    given(
        "overshoot 40 %: Q",
        SECOND,
        1.78573,
        lambda: quality_factor(damping_ratio_from_overshoot(40.0)),
    ),
    given(
        "ringing 250 kHz at 40 %: natural [Hz]",
        SECOND,
        260417.0,
        lambda: natural_hertz(250e3, damping_ratio_from_overshoot(40.0)),
    ),
    given("40 V peak at 20 kHz: slope [V/us]", SINE, 5.02655, lambda: 1e-6 * slew_rate(40.0, 20e3)),
    given(
        "50 W in 8 ohm at 20 kHz: slope [V/us]",
        SINE,
        3.55431,
        lambda: 1e-6 * slew_rate(800.0**0.5, 20e3),
    ),
    given(
        "2 V/us, 12 V peak: highest [kHz]",
        "op-amp textbook: 26.5 kHz",
        26.5,
        lambda: 1e-3 * full_power_hertz(2e6, 12.0),
        0.05,
    ),
    given(
        "5 V/us at 50 kHz: triangle peak [V]",
        "quarter period of slewing",
        25.0,
        p(slewing_triangle_peak, 5e6, 50e3),
    ),
    given(
        "20 V pp in 2 us: slope [V/us]",
        "80 % of the step",
        8.0,
        lambda: 1e-6 * slope_from_rise_time(20.0, 2e-6),
    ),
)
