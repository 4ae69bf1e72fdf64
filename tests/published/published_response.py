"""Frequency response and preferred values: checks against published values."""

from __future__ import annotations

import math
from functools import partial as p

import numpy as np
from published_check import Check, given

from stepwise.science import (
    corner_for_capacitance,
    corner_for_drop,
    corner_from_reading_high,
    corner_from_reading_low,
    coupling_capacitance,
    exact_third_octave,
    first_order_highpass_db,
    first_order_lowpass_db,
    fit_response,
    guided_crossing,
    nearest_preferred,
    next_preferred_up,
    nominal_third_octave,
)

FIRST = "first-order response"
RC = "first-order RC"
ISO = "ISO 266 / IEC 61260-1, base ten"
E_SERIES = "IEC 60063"
FIT = "synthetic sweep, 8 Hz and 80 kHz first order, re 1 kHz"

FIT_SWEEP = np.array(
    [
        [10, -2.147482],
        [12.5, -1.490003],
        [16, -0.968144],
        [20, -0.643624],
        [31.5, -0.270500],
        [50, -0.108825],
        [100, -0.026757],
        [200, -0.006014],
        [1000, 0.0],
        [5000, -0.015986],
        [10000, -0.066380],
        [20000, -0.262334],
        [31500, -0.625011],
        [50000, -1.431144],
        [80000, -3.009344],
        [100000, -4.085682],
    ]
)
"""Frequency [Hz] and level [dB re 1 kHz]."""


def _straight(drop: float, inner: float, outer: float) -> float:
    """Where a straight line between two readings has fallen so far."""
    read = dict(FIT_SWEEP.tolist())
    pair = [(hertz, read[hertz]) for hertz in (inner, outer)]
    return guided_crossing(pair[0], pair[1], drop, lambda hertz: 0.0 * hertz).hertz


def _modelled(side: str) -> float:
    fit = fit_response(FIT_SWEEP[:, 0], FIT_SWEEP[:, 1], 0.1)
    end = fit.low if side == "low" else fit.high
    assert end.order == 1
    assert end.corner_hertz is not None
    return end.corner_hertz


def _guided(inner: float, outer: float) -> float:
    """Half-power point against 1 kHz, along the fitted model."""
    fit = fit_response(FIT_SWEEP[:, 0], FIT_SWEEP[:, 1], 0.1)
    read = dict(FIT_SWEEP.tolist())
    # The lowest reading stands above it: its own model stands in for one further out.
    pair = [(hertz, read.get(hertz, fit.level_db(hertz))) for hertz in (inner, outer)]
    return guided_crossing(pair[0], pair[1], 10.0 * math.log10(2.0), fit.level_db).hertz


def _response_rows() -> list[Check]:
    rows = []
    for ratio, level in (
        (10, -0.0432137),
        (5, -0.170333),
        (2, -0.969100),
        (1, -3.01030),
        (0.5, -6.98970),
        (0.1, -20.0432),
    ):
        rows.append(
            given(
                f"high-pass at {ratio} fc [dB]",
                FIRST,
                level,
                p(first_order_highpass_db, float(ratio), 1.0),
            )
        )
        rows.append(
            given(
                f"low-pass at fc / {ratio} [dB]",
                FIRST,
                level,
                p(first_order_lowpass_db, 1.0 / ratio, 1.0),
            )
        )
    for drop, high, low in (
        (0.1, 6.55220, 0.152620),
        (0.5, 2.86278, 0.349311),
        (1.0, 1.96523, 0.508847),
        (2.0, 1.30756, 0.764783),
        (3.0, 1.00238, 0.997628),
        (6.0, 0.579180, 1.72658),
    ):
        rows.append(
            given(
                f"high-pass, -{drop} dB at f / fc",
                FIRST,
                high,
                lambda drop=drop: 1.0 / corner_for_drop(1.0, drop),
            )
        )
        rows.append(
            given(
                f"low-pass, -{drop} dB at f / fc",
                FIRST,
                low,
                lambda drop=drop: 1.0 / corner_from_reading_high(1.0, -drop),
            )
        )
    return rows


def _frequency_rows() -> list[Check]:
    table = (
        (-20, 10, 10.0),
        (-15, 31.5, 31.6228),
        (-12, 63, 63.0957),
        (-9, 125, 125.893),
        (-5, 315, 316.228),
        (-1, 800, 794.328),
        (0, 1000, 1000.0),
        (1, 1250, 1258.93),
        (5, 3150, 3162.28),
        (8, 6300, 6309.57),
        (11, 12500, 12589.3),
        (13, 20000, 19952.6),
        (15, 31500, 31622.8),
        (19, 80000, 79432.8),
        (20, 100000, 100000.0),
    )
    rows = []
    for band, nominal, exact in table:
        rows.append(
            given(
                f"third octave {band}, nominal [Hz]",
                ISO,
                nominal,
                p(nominal_third_octave, band),
            )
        )
        rows.append(
            given(f"third octave {band}, exact [Hz]", ISO, exact, p(exact_third_octave, band))
        )
    return rows


CHECKS: tuple[Check, ...] = (
    *_response_rows(),
    given("20 Hz is -0.5 dB: corner [Hz]", FIRST, 6.98623, p(corner_from_reading_low, 20, -0.5)),
    given("20 Hz is -1.5 dB: corner [Hz]", FIRST, 12.8458, p(corner_from_reading_low, 20, -1.5)),
    given("20 Hz is -3 dB: corner [Hz]", FIRST, 19.9526, p(corner_from_reading_low, 20, -3.0)),
    given("40 Hz is -1 dB: corner [Hz]", FIRST, 20.3539, p(corner_from_reading_low, 40, -1.0)),
    given("20 kHz is -0.5 dB: corner [Hz]", FIRST, 57255.5, p(corner_from_reading_high, 2e4, -0.5)),
    given("20 kHz is -1 dB: corner [Hz]", FIRST, 39304.5, p(corner_from_reading_high, 2e4, -1.0)),
    given("20 kHz is -3 dB: corner [Hz]", FIRST, 20047.5, p(corner_from_reading_high, 2e4, -3.0)),
    given("8 ohm, 1000 uF: corner [Hz]", RC, 19.8944, p(corner_for_capacitance, 1e-3, 8.0)),
    given("8 ohm, 2200 uF: corner [Hz]", RC, 9.04289, p(corner_for_capacitance, 2.2e-3, 8.0)),
    given("4 ohm, 2200 uF: corner [Hz]", RC, 18.0858, p(corner_for_capacitance, 2.2e-3, 4.0)),
    given("47 kohm, 0.47 uF: corner [Hz]", RC, 7.20484, p(corner_for_capacitance, 0.47e-6, 47e3)),
    given("10 kohm, 1 uF: corner [Hz]", RC, 15.9155, p(corner_for_capacitance, 1e-6, 10e3)),
    given(
        "8 ohm, 10 Hz: capacitor [uF]",
        RC,
        1989.44,
        lambda: 1e6 * coupling_capacitance(10.0, 8.0),
    ),
    given(
        "47 kohm, 3 Hz: capacitor [uF]",
        RC,
        1.12876,
        lambda: 1e6 * coupling_capacitance(3.0, 47e3),
    ),
    given(
        "8 ohm, -1.5 dB at 20 Hz: capacitor [uF]",
        RC,
        1548.70,
        lambda: 1e6 * coupling_capacitance(corner_for_drop(20.0, 1.5), 8.0),
    ),
    # Both ends at once return the figures that the sweep was made with.
    given("low corner of the model of both ends [Hz]", FIT, 8.0, p(_modelled, "low"), 1e-4),
    given("high corner of the model of both ends [Hz]", FIT, 80e3, p(_modelled, "high"), 1.0),
    given("half power of the product, low end [Hz]", FIT, 7.99824, p(_guided, 20.0, 6.3), 1e-4),
    given("half power of the product, high end [Hz]", FIT, 80_017.6, p(_guided, 5e4, 1e5), 1.0),
    # Straight lines between third octaves stand for a curve.
    given("-1 dB at the low end [Hz]", FIT, 15.7, p(_straight, 1.0, 16.0, 12.5), 0.1),
    given("-3 dB at the high end [Hz]", FIT, 79.8e3, p(_straight, 3.0, 5e4, 8e4), 200.0),
    *_frequency_rows(),
    given("1548.70 uF, nearest of E6 [uF]", E_SERIES, 1500.0, p(nearest_preferred, 1548.70, "E6")),
    given(
        "1548.70 uF, nearest of E12 [uF]",
        E_SERIES,
        1500.0,
        p(nearest_preferred, 1548.70, "E12"),
    ),
    given("1989.44 uF, next of E6 [uF]", E_SERIES, 2200.0, p(next_preferred_up, 1989.44, "E6")),
    given("2.61 kohm, nearest of E12 [kohm]", E_SERIES, 2.7, p(nearest_preferred, 2.61, "E12")),
    given("3.162, nearest of E12", E_SERIES, 3.3, p(nearest_preferred, 3.17, "E12")),
    given("9.2, next of E24", E_SERIES, 10.0, p(next_preferred_up, 9.2, "E24")),
)
