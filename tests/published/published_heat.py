"""Class-B loss, thermal chain, temperature rise: checks against published values."""

from __future__ import annotations

import math
from functools import partial as p

from published_check import Check, given

from stepwise.science import (
    dissipation_class_b,
    efficiency_class_b_percent,
    exponential_approach,
    final_temperature_three_points,
    fit_exponential_approach,
    junction_temperature,
    load_power,
    rms_from_peak,
    supply_power_class_b,
    thermal_resistance,
    time_constant_three_points,
    time_to_reach,
    worst_dissipation,
)

BOYLESTAD = "Boylestad and Nashelsky, chapter 12"
CLASS_B = "class-B loss over the level"
AITKEN = "Aitken's delta-squared; IEC 60076-2 (from memory)"
RISE = "first-order rise"


def _normalised(power_share: float) -> float:
    """Loss over the power at clipping, of a stage with a rail of 1 V and 0.5 ohm: 1 W."""
    return dissipation_class_b(1.0, power_share**0.5, 0.5)


THERMAL = "textbook worked example on heatsinks"
APPROACHES = (
    ((0.0, 1.0, 2.0), (30.0, 40.0, 46.0), (55.0, 1.95762, 5.00937)),
    ((0.0, 1.0, 2.0), (25.0, 33.0, 38.0), (46.3333, 2.12764, 5.85868)),
    ((0.0, 1.0, 2.0), (40.0, 50.0, 55.0), (60.0, 1.44270, 2.87228)),
    ((5.0, 10.0, 15.0), (37.3449, 46.1491, 51.2005), (58.0, 9.0, 4.28565)),
    ((3.0, 6.0, 9.0), (32.2049, 39.5170, 44.7563), (58.0, 9.0, 11.3331)),
)
"""Times, readings [degC]; final [degC], time constant [times' unit], u(final) for 0.5 K [K]."""


def _fitted(times: tuple[float, ...], readings: tuple[float, ...], what: str) -> float:
    fit = fit_exponential_approach(times, readings, 0.5)
    return math.nan if fit is None else float(getattr(fit, what))


def _fit_rows(
    times: tuple[float, ...], readings: tuple[float, ...], figures: tuple[float, float, float]
) -> list[Check]:
    name = f"fit to {', '.join(f'{each:g}' for each in readings)}"
    final, tau, doubt = figures
    # Readings given to six digits are off by a tenfold of that where they are extrapolated.
    return [
        given(f"{name}: final [degC]", AITKEN, final, p(_fitted, times, readings, "final"), 2e-3),
        given(
            f"{name}: time constant", AITKEN, tau, p(_fitted, times, readings, "tau_s"), 1e-4 * tau
        ),
        given(
            f"{name}: u(final) for 0.5 K [K]",
            "sensitivities of Aitken's delta-squared",
            doubt,
            p(_fitted, times, readings, "standard_final"),
            1e-4 * doubt,
        ),
    ]


def _time_to_share(share: float) -> float:
    seconds = time_to_reach(share, 0.0, 1.0, 1.0)
    return math.nan if seconds is None else seconds


CHECKS: tuple[Check, ...] = (
    given(
        "30 V, 20 V peak, 16 ohm: taken [W]",
        BOYLESTAD + ", published 23.9",
        23.9,
        p(supply_power_class_b, 30.0, 20.0, 16.0),
        0.05,
    ),
    given(
        "30 V, 20 V peak, 16 ohm: taken [W]",
        BOYLESTAD,
        23.8732,
        p(supply_power_class_b, 30.0, 20.0, 16.0),
    ),
    given(
        "the same: given to the load [W]",
        BOYLESTAD,
        12.5,
        lambda: load_power(rms_from_peak(20.0), 16.0),
    ),
    given(
        "the same: efficiency [%]",
        BOYLESTAD + ", published 52.3",
        52.3599,
        p(efficiency_class_b_percent, 30.0, 20.0),
    ),
    given(
        "30 V, 16 ohm, full: taken [W]",
        BOYLESTAD + ", published 35.81",
        35.8099,
        p(supply_power_class_b, 30.0, 30.0, 16.0),
    ),
    given(
        "the same: efficiency [%]",
        BOYLESTAD + ", published 78.54",
        78.5398,
        p(efficiency_class_b_percent, 30.0, 30.0),
    ),
    given(
        "the same: worst of one device [W]",
        BOYLESTAD + ", published 5.7",
        5.69932,
        lambda: worst_dissipation(30.0, 16.0) / 2.0,
    ),
    given(
        "24 V, 22 V peak: efficiency [%]",
        BOYLESTAD + ", published 72",
        71.9948,
        p(efficiency_class_b_percent, 24.0, 22.0),
    ),
    given(
        "24 V, 6 V peak: efficiency [%]",
        BOYLESTAD + ", published 19.6",
        19.6350,
        p(efficiency_class_b_percent, 24.0, 6.0),
    ),
    given(
        "25 V, 17 V peak, 4 ohm: taken [W]",
        BOYLESTAD + ", published 67.75",
        67.6409,
        p(supply_power_class_b, 25.0, 17.0, 4.0),
    ),
    given(
        "the same: loss of one device [W]",
        BOYLESTAD + ", published 15.8",
        15.7579,
        lambda: dissipation_class_b(25.0, 17.0, 4.0) / 2.0,
    ),
    given(
        "45 V, 40 V peak, 8 ohm: taken [W]",
        CLASS_B,
        143.239,
        p(supply_power_class_b, 45.0, 40.0, 8.0),
    ),
    given(
        "45 V, 40 V peak, 8 ohm: loss [W]",
        CLASS_B,
        43.2394,
        p(dissipation_class_b, 45.0, 40.0, 8.0),
    ),
    given("45 V, 8 ohm: worst loss [W]", CLASS_B, 51.2938, p(worst_dissipation, 45.0, 8.0)),
    given("45 V, 4 ohm: worst loss [W]", CLASS_B, 102.588, p(worst_dissipation, 45.0, 4.0)),
    given("35 V, 8 ohm: worst loss [W]", CLASS_B, 31.0296, p(worst_dissipation, 35.0, 8.0)),
    given(
        "the worst, reached at 2/pi of the rail [W]",
        CLASS_B,
        31.0296,
        p(dissipation_class_b, 35.0, 35.0 * 0.636620, 8.0),
    ),
    given("worst loss over power at clipping", CLASS_B, 0.405285, p(worst_dissipation, 1.0, 0.5)),
    given("loss at one-eighth power", CLASS_B, 0.325158, p(_normalised, 1.0 / 8.0)),
    given("loss at one-third power", CLASS_B, 0.401772, p(_normalised, 1.0 / 3.0)),
    given(
        "25 degC, 6 W, 13 K/W [degC]",
        "textbook, published 103 degC",
        103.0,
        p(junction_temperature, 25.0, 6.0, 13.0),
    ),
    given(
        "30 degC, 30 W, 2.8 K/W [degC]",
        "thermal Ohm's law",
        114.0,
        p(junction_temperature, 30.0, 30.0, 2.8),
    ),
    given(
        "40 degC, 61.5 W, 2.6 K/W [degC]",
        BOYLESTAD + " (from memory)",
        200.0,
        p(junction_temperature, 40.0, 61.5, 2.6),
        0.15,
    ),
    given("share reached after 1 tau", RISE, 0.632121, p(exponential_approach, 1.0, 0.0, 1.0, 1.0)),
    given("share reached after 2 tau", RISE, 0.864665, p(exponential_approach, 2.0, 0.0, 1.0, 1.0)),
    given("share reached after 3 tau", RISE, 0.950213, p(exponential_approach, 3.0, 0.0, 1.0, 1.0)),
    given("share reached after 5 tau", RISE, 0.993262, p(exponential_approach, 5.0, 0.0, 1.0, 1.0)),
    given(
        "30, 40, 46: final [degC]",
        AITKEN,
        55.0,
        p(final_temperature_three_points, 30.0, 40.0, 46.0),
    ),
    given(
        "30, 40, 46: time constant [intervals]",
        AITKEN,
        1.95762,
        p(time_constant_three_points, 30.0, 40.0, 46.0, 1.0),
    ),
    given(
        "25, 33, 38: final [degC]",
        AITKEN,
        46.3333,
        p(final_temperature_three_points, 25.0, 33.0, 38.0),
    ),
    given(
        "25, 33, 38: time constant [intervals]",
        AITKEN,
        2.12764,
        p(time_constant_three_points, 25.0, 33.0, 38.0, 1.0),
    ),
    given(
        "40, 50, 55: final [degC]",
        AITKEN,
        60.0,
        p(final_temperature_three_points, 40.0, 50.0, 55.0),
    ),
    given(
        "40, 50, 55: time constant [intervals]",
        AITKEN,
        1.44270,
        p(time_constant_three_points, 40.0, 50.0, 55.0, 1.0),
    ),
    given(
        "37.3449, 46.1491, 51.2005: final [degC]",
        AITKEN,
        58.0,
        p(final_temperature_three_points, 37.3449, 46.1491, 51.2005),
        0.001,
    ),
    *(
        row
        for times, readings, figures in APPROACHES
        for row in _fit_rows(times, readings, figures)
    ),
    given("125 K by 20 W [K/W]", THERMAL, 6.25, p(thermal_resistance, 200.0, 75.0, 20.0)),
    given("78 K by 6 W [K/W]", THERMAL, 13.0, p(thermal_resistance, 103.0, 25.0, 6.0)),
    *(
        given(
            f"time to {share} of the rise [time constants]",
            RISE,
            float(spans),
            p(_time_to_share, share),
            5e-6 * math.exp(spans),
        )
        for spans, share in ((1, 0.632121), (2, 0.864665), (3, 0.950213))
    ),
)
