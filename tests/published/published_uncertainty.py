"""Uncertainty carried through the physics, and verdicts: checks against published values."""

from __future__ import annotations

from functools import partial as p

from published_check import Check, given

from stepwise.judge import Limit, judge
from stepwise.quantities import (
    Source,
    Uncertain,
    propagate,
    rectangular,
    resolution,
    student_factor,
    within_limits,
)
from stepwise.science import (
    final_temperature_three_points,
    load_power,
    source_impedance_open,
    voltage_ratio_db,
)

GUM = "JCGM 100"
LAW = "JCGM 100, 5.1.2, on P = U^2 / R"
CONFORMANCE = "JCGM 106, 7.3: normal distribution"

NUDGED = 1e-3
"""Relative; sensitivities are taken over one standard uncertainty, not at a point."""


def _u_of_power(volts: float, u_volts: float, load: float, u_load: float) -> float:
    return propagate(
        load_power, Uncertain(volts, {"meter": u_volts}), Uncertain(load, {"load": u_load})
    ).standard_uncertainty


def _warm_resistor_power(volts: float, ohms: float, per_kelvin: float, celsius: float) -> float:
    return load_power(volts, ohms * (1.0 + per_kelvin * (celsius - 20.0)))


def _u_of_warm_power() -> float:
    inputs = (
        Uncertain(20.0, {"V": 0.1}),
        Uncertain(8.0, {"R": 0.04}),
        Uncertain(100e-6, {"a": 20e-6}),
        Uncertain(85.0, {"t": 5.0}),
    )
    return propagate(_warm_resistor_power, *inputs).standard_uncertainty


def _u_of_final(first: float, second: float, third: float) -> float:
    readings = (
        Uncertain(first, {"a": 0.05}),
        Uncertain(second, {"b": 0.05}),
        Uncertain(third, {"c": 0.05}),
    )
    return propagate(final_temperature_three_points, *readings).standard_uncertainty


def _u_of_source() -> float:
    return propagate(
        source_impedance_open,
        Uncertain(10.0, {"open": 0.005}),
        Uncertain(9.96, {"loaded": 0.005}),
        Uncertain(8.0),
    ).standard_uncertainty


def _u_of_level(shared: bool) -> float:
    second = "meter" if shared else "other meter"
    return propagate(
        voltage_ratio_db, Uncertain(10.0, {"meter": 0.05}), Uncertain(5.0, {second: 0.025})
    ).standard_uncertainty


def _inside(value: float, u: float, low: float | None, high: float | None) -> float:
    probability = judge(Uncertain(value, {"u": u}), Limit(low, high, "", "")).probability
    assert probability is not None
    return probability


def _relative(subject: str, source: str, expected: float, computed: object) -> Check:
    return given(subject, source, expected, computed, NUDGED * expected)  # type: ignore[arg-type]


def _multimeter() -> Uncertain:
    """A hand-held multimeter at 100 V: calibrator, last digit, source."""
    return Uncertain(
        100.1,
        {
            "calibrator": 0.001,
            within_limits("digit"): rectangular(0.05),
            within_limits("source"): rectangular(0.011),
        },
    )


def _end_gauge() -> Uncertain:
    """The length of GUM H.1 with the degrees of freedom of its terms [nm]."""
    terms = {"a": (25.0, 18.0), "b": (9.7, 25.6), "c": (2.9, 50.0), "d": (16.6, 2.0)}
    return Uncertain(0.0, {Source(n, freedom=f): u for n, (u, f) in terms.items()})


CHECKS: tuple[Check, ...] = (
    given("rectangular, half width 1", GUM + ", 4.3.7", 0.577350, p(rectangular, 1.0)),
    given("resolution 1", GUM + ", F.2.2.1", 0.288675, p(resolution, 1.0)),
    _relative(
        "20 +- 0.1 V, 8 +- 0.04 ohm: u(P) [W]",
        LAW,
        0.559017,
        p(_u_of_power, 20.0, 0.1, 8.0, 0.04),
    ),
    _relative(
        "28.3 +- 0.2 V, 8.02 +- 0.02 ohm: u(P) [W]",
        LAW,
        1.43327,
        p(_u_of_power, 28.3, 0.2, 8.02, 0.02),
    ),
    _relative(
        "14.2 +- 0.15 V, 4 ohm 5 %: u(P) [W]",
        LAW,
        1.80329,
        lambda: _u_of_power(14.2, 0.15, 4.0, rectangular(0.2)),
    ),
    _relative(
        "17.9 +- 0.179 V, 8 +- 0.08 ohm: u(P) [W]",
        LAW,
        0.895573,
        p(_u_of_power, 17.9, 0.179, 8.0, 0.08),
    ),
    given(
        "warm resistor: P [W]",
        GUM + ", 4.1.1 (from memory)",
        49.6771,
        p(_warm_resistor_power, 20.0, 8.0, 100e-6, 85.0),
    ),
    _relative("warm resistor: u(P) [W]", GUM + ", 5.1.3 (from memory)", 0.559645, _u_of_warm_power),
    _relative("ratio of two meters, 0.5 % each [dB]", GUM, 0.0614185, p(_u_of_level, False)),
    given("the same on one range [dB]", GUM + ", 5.2.2", 0.0, p(_u_of_level, True), 1e-6),
    _relative("10.000 and 9.960 V +- 5 mV: u(Zo) [ohm]", LAW, 0.00569099, _u_of_source),
    # The source gives 5.00937 K for 0.5 K each, to first order; a tenth of it is in that order.
    given(
        "30, 40, 46 +- 0.05 K: u(final) [K]",
        "Aitken, sensitivities",
        0.500937,
        p(_u_of_final, 30.0, 40.0, 46.0),
        0.003,
    ),
    given(
        "40, 50, 55 +- 0.05 K: u(final) [K]",
        "Aitken, sensitivities",
        0.287228,
        p(_u_of_final, 40.0, 50.0, 55.0),
        0.003,
    ),
    given(
        "at least 50 W, 52.0, u 0.65: p",
        CONFORMANCE,
        0.998954,
        p(_inside, 52.0, 0.65, 50.0, None),
    ),
    given(
        "at least 50 W, 51.2, u 0.65: p",
        CONFORMANCE,
        0.967565,
        p(_inside, 51.2, 0.65, 50.0, None),
    ),
    given(
        "at least 50 W, 50.4, u 0.65: p",
        CONFORMANCE,
        0.730850,
        p(_inside, 50.4, 0.65, 50.0, None),
    ),
    given(
        "at least 50 W, 49.6, u 0.65: p",
        CONFORMANCE,
        0.269150,
        p(_inside, 49.6, 0.65, 50.0, None),
    ),
    given(
        "within 0.5 dB, +0.30, u 0.12: p",
        CONFORMANCE,
        0.952210,
        p(_inside, 0.30, 0.12, -0.5, 0.5),
    ),
    given(
        "-5.47 V, at most -5.40, u 0.05: p",
        "JCGM 106, clause 7 example (from memory)",
        0.92,
        p(_inside, -5.47, 0.05, None, -5.40),
        0.005,
    ),
    *(
        given(
            f"Student's t for {freedom} degrees of freedom, 95.45 %",
            "JCGM 100 table G.2, EA-4/02 table E.1 (from memory)",
            factor,
            p(student_factor, float(freedom)),
            2e-5,
        )
        for freedom, factor in ((4, 2.86932), (9, 2.31981), (19, 2.14050))
    ),
    given(
        "hand-held multimeter at 100 V: U [V]",
        "EA-4/02 S9 (from memory), published to two decimals",
        0.05,
        lambda: _multimeter().expanded_uncertainty,
        0.0015,
    ),
    given(
        "one rectangle alone: k",
        "EA-4/02 S9.14 (from memory), published 1.65",
        1.65,
        lambda: Uncertain(0.0, {within_limits("digit"): 1.0}).coverage_factor,
        0.005,
    ),
    given(
        "end gauge of GUM H.1: k for its 16.7 degrees of freedom, truncated to 16",
        "scipy.stats.t.ppf at 95.45 %",
        2.168940,
        lambda: _end_gauge().coverage_factor,
        1e-5,
    ),
)
