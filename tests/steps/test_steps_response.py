"""What a sweep shows, and when: ends, odd readings, slopes, humps, the capacitor, the bench."""

from __future__ import annotations

import math

import numpy as np
import pytest

from stepwise.journal import Recorded
from stepwise.judge import Findings, LimitFields, Result
from stepwise.judge.flags import find_flags
from stepwise.quantities import Understood, parse_entry, require
from stepwise.science import EndOfResponse, end_level_db
from stepwise.steps import (
    KINDS,
    Scene,
    SweepLimits,
    Workings,
    recorded_form,
)
from tests.steps.conftest import POINTS, Work, named, results_of, sweep

FLAT = EndOfResponse(0)


def levels(low: EndOfResponse, high: EndOfResponse, step: float = 0.01) -> dict[str, str]:
    """What is typed at each point, read to a step [dB]."""
    typed = {}
    for text in POINTS:
        hertz = require(text, "Hz")
        level = end_level_db(hertz, low, "low") + end_level_db(hertz, high, "high")
        level -= end_level_db(1000.0, low, "low") + end_level_db(1000.0, high, "high")
        typed[f"sweep///{text}"] = f"{round(level / step) * step:.2f}"
    return typed


def names(results: tuple[Result, ...]) -> set[str]:
    return {each.name for each in results}


def first(typed: dict[str, str], count: int) -> dict[str, str]:
    return dict(list(typed.items())[:count])


def test_whatever_levels_are_typed_every_result_is_a_figure(scene: Scene) -> None:
    random = np.random.default_rng(6)
    step = sweep(band=("20 Hz", "20 kHz"))
    for _ in range(150):
        odd = random.choice([-90.0, -30.0, 0.0, 0.5, 40.0], len(POINTS))
        walk = np.cumsum(random.normal(0.0, 2.0, len(POINTS)))
        rows = (odd, walk, random.normal(0.0, 0.4, len(POINTS)), np.full(len(POINTS), walk[0]))
        row = rows[random.integers(len(rows))]
        typed = {f"sweep///{text}": f"{x:.2f}" for text, x in zip(POINTS, row, strict=True)}
        kept = list(typed)[: random.integers(1, len(POINTS) + 1)]
        for result in results_of(scene, [step], {key: typed[key] for key in kept}):
            assert math.isfinite(result.value), result
            assert math.isfinite(result.measure.standard_uncertainty), result
            assert result.unit not in ("Hz", "F") or result.value > 0.0, result


# When


def test_one_far_reading_shows_no_roll_off_yet(work: Work) -> None:
    results = work([sweep()], {"sweep///reference": "2.0 on 3", "sweep///10 Hz": "-6"})
    assert names(results) == {"reference", "level_db"}
    assert find_flags(Findings(results)) == ()


def test_points_are_told_once_their_neighbours_are_read(work: Work) -> None:
    typed = levels(EndOfResponse(1, 20.0), FLAT, 0.25)
    assert "minus_3db_low" not in names(work([sweep()], first(typed, 3)))
    four = names(work([sweep()], first(typed, 4)))
    assert "minus_3db_low" in four
    # -1 dB lies between 31.5 Hz and what is still to be read; so does the end of the fall.
    assert not {"minus_1db_low", "corner_low"} & four
    assert {"minus_1db_low", "corner_low", "order_low"} <= names(work([sweep()], first(typed, 6)))


def test_the_first_fall_counts_even_where_the_level_recovers(work: Work) -> None:
    # A wide dip, no single odd reading: outwards from 1 kHz it is -3 dB above 200 Hz already.
    typed = dict.fromkeys(levels(FLAT, FLAT), "0") | {"sweep///10 Hz": "-8"}
    typed |= {f"sweep///{hertz} Hz": "-5" for hertz in (200, 100, 50)}
    assert 200.0 < named(work([sweep()], typed), "minus_3db_low").value < 500.0


def test_a_response_that_never_falls_so_far_has_no_such_point(work: Work) -> None:
    typed = dict.fromkeys(levels(FLAT, FLAT), "0") | {"sweep///10 Hz": "-2.5"}
    found = names(work([sweep()], typed))
    assert "minus_1db_low" in found
    assert "minus_3db_low" not in found


def test_the_corner_hardly_moves_as_more_is_read(work: Work) -> None:
    typed = levels(EndOfResponse(1, 20.0), FLAT, 0.25)
    corners = [
        named(work([sweep()], first(typed, count)), "corner_low").measure for count in (6, 9, 17)
    ]
    for corner in corners:
        assert abs(corner.value - 20.0) < corner.expanded_uncertainty


def test_frequencies_that_were_left_out_are_not_waited_for(scene: Scene) -> None:
    workings = Workings([sweep()], KINDS, scene)
    answers = {}
    for number, prompt in enumerate(workings.prompts):
        if prompt.point in ("10 Hz", "16 Hz"):
            entry = parse_entry("-6" if prompt.point == "10 Hz" else "-2", prompt.expected)
            assert isinstance(entry, Understood)
            data, kind = {"typed": entry.typed, **recorded_form(entry)}, "reading"
        else:
            data, kind = {"reason": "no time"}, "skip"
        answers[prompt.key] = Recorded(number + 1, "", prompt.key, "", kind, data)
    assert "minus_3db_low" in names(workings.results(answers))


def test_flatness_waits_for_the_whole_band(work: Work) -> None:
    step = sweep(band=("20 Hz", "20 kHz"))
    typed = levels(FLAT, EndOfResponse(1, 25e3))
    assert "flatness" not in names(work([step], first(typed, 12)))
    found = named(work([step], typed), "flatness")
    assert found.value == pytest.approx(10.0 * math.log10(1.0 + 0.8**2), abs=0.02)


def test_slopes_wait_for_the_outermost_readings(work: Work) -> None:
    typed = levels(FLAT, EndOfResponse(2, 10e3, q=0.7071))
    assert "slope_high" not in names(work([sweep()], first(typed, 16)))
    slope = named(work([sweep()], typed), "slope_high")
    # Far out at a second-order end the level falls by 12.04 dB an octave.
    assert slope.value == pytest.approx(-12.04, abs=0.1)
    assert slope.unit == "dB/octave"


def test_far_neighbours_tell_no_slope(work: Work) -> None:
    points = ("100 Hz", "20 Hz", "10 kHz", "20 kHz")
    typed = {f"sweep///{text}": "-1" for text in points}
    found = names(work([sweep(points)], typed))
    assert "slope_high" in found
    assert "slope_low" not in found


# What


def test_both_ends_have_order_corner_and_q(work: Work) -> None:
    low, high = EndOfResponse(1, 12.0), EndOfResponse(2, 60e3, q=1.3)
    results = work([sweep()], levels(low, high))
    assert named(results, "order_low").value == 1.0
    assert named(results, "corner_low").value == pytest.approx(12.0, rel=0.01)
    assert named(results, "order_high").value == 2.0
    assert named(results, "corner_high").value == pytest.approx(60e3, rel=0.01)
    assert named(results, "q_high").value == pytest.approx(1.3, rel=0.01)
    assert "q_low" not in names(results)
    assert named(results, "corner_high").label == "Corner, high end, second order"


def test_a_reading_that_does_not_belong_is_named_and_left_out(work: Work) -> None:
    typed = levels(EndOfResponse(1, 12.0), EndOfResponse(1, 90e3), 0.25)
    typed["sweep///50 Hz"] = "-3.5"
    results = work([sweep()], typed)
    odd = named(results, "outlier")
    assert odd.point == "50 Hz"
    assert odd.basis == ("sweep///50 Hz",)
    assert odd.value == pytest.approx(-3.25, abs=0.2)
    assert named(results, "minus_3db_low").value == pytest.approx(12.0, rel=0.05)
    assert named(results, "corner_low").value == pytest.approx(12.0, rel=0.05)


def test_a_reading_is_not_named_before_its_neighbours_are_read(work: Work) -> None:
    typed = levels(EndOfResponse(1, 12.0), EndOfResponse(1, 90e3), 0.25)
    typed["sweep///50 Hz"] = "-3.5"
    assert "outlier" not in names(work([sweep()], first(typed, 5)))


def test_a_hump_is_told_at_its_top(work: Work) -> None:
    results = work([sweep()], levels(FLAT, EndOfResponse(2, 60e3, q=1.6), 0.25))
    peak, at = named(results, "peak_db"), named(results, "peak_frequency")
    assert peak.point == at.point == "50 kHz"
    # The top of such an end lies at f sqrt(1 - 1 / (2 Q^2)), 20 lg (Q / sqrt(1 - 1 / (4 Q^2))).
    assert abs(at.value - 60e3 * math.sqrt(1 - 0.5 / 1.6**2)) < at.measure.expanded_uncertainty
    assert peak.value == pytest.approx(20 * math.log10(1.6 / math.sqrt(1 - 0.25 / 1.6**2)), abs=0.3)


def test_a_step_of_the_scale_is_no_hump(work: Work) -> None:
    typed = levels(FLAT, FLAT, 0.5) | {"sweep///5 kHz": "0.5"}
    assert "peak_db" not in names(work([sweep()], typed))


# The capacitor


def test_the_upper_of_two_corners_is_the_capacitors(work: Work) -> None:
    natural, q = math.sqrt(40.0 * 12.0), math.sqrt(40.0 * 12.0) / 52.0
    limits = SweepLimits(minus_3db_low=LimitFields(max="20 Hz"))
    typed = levels(EndOfResponse(2, natural, q=q), FLAT)
    results = work([sweep(limits=limits)], typed)
    implied = named(results, "coupling_capacitance")
    assert implied.value == pytest.approx(1.0 / (2 * math.pi * 22e3 * 40.0), rel=0.03)
    assert "two near 12 Hz and 40 Hz" in named(results, "corner_low").label
    # 12 Hz alone takes 1.34 dB at 20 Hz; 1.66 dB are left for the capacitor.
    needed = 1.0 / (2 * math.pi * 22e3 * 20.0 * math.sqrt(10**0.1663 - 1.0))
    cure = named(results, "cure_capacitance").value
    assert needed < cure < 1.6 * needed


def test_a_corner_that_no_capacitor_can_cure_has_no_cure(work: Work) -> None:
    natural, q = math.sqrt(60.0 * 25.0), math.sqrt(60.0 * 25.0) / 85.0
    limits = SweepLimits(minus_3db_low=LimitFields(max="20 Hz"))
    results = work([sweep(limits=limits)], levels(EndOfResponse(2, natural, q=q), FLAT))
    assert "coupling_capacitance" in names(results)
    assert "cure_capacitance" not in names(results)


def test_a_resonant_end_is_no_matter_of_one_capacitor(work: Work) -> None:
    results = work([sweep()], levels(EndOfResponse(2, 25.0, q=1.2), FLAT))
    assert named(results, "q_low").value == pytest.approx(1.2, rel=0.02)
    assert "coupling_capacitance" not in names(results)


@pytest.mark.parametrize(("series", "farads"), [("E6", 0.47e-6), ("E12", 0.39e-6)])
def test_the_cure_comes_from_the_series_asked_for(work: Work, series: str, farads: float) -> None:
    # For -3 dB at 20 Hz into 22 kohm 0.363 uF are needed; the values are those of IEC 60063.
    limits = SweepLimits(minus_3db_low=LimitFields(max="20 Hz"))
    typed = levels(EndOfResponse(1, 30.0), FLAT, 0.25)
    results = work([sweep(limits=limits, series=series)], typed)
    assert named(results, "cure_capacitance").value == pytest.approx(farads)


def test_the_limit_at_the_band_edge_asks_for_a_cure_too(work: Work) -> None:
    limits = SweepLimits(level_db=LimitFields(target="0 dB", within="1 dB"))
    step = sweep(limits=limits, band=("20 Hz", "20 kHz"))
    results = work([step], levels(EndOfResponse(1, 30.0), FLAT, 0.25))
    # fc = f sqrt(10^(a/10) - 1): -1 dB at 20 Hz allows 10.2 Hz, 0.711 uF into 22 kohm.
    assert named(results, "cure_capacitance").value == pytest.approx(1.0e-6)
    within = work([step], levels(EndOfResponse(1, 9.0), FLAT, 0.25))
    assert "cure_capacitance" not in names(within)


# The bench's own response


def test_the_corner_shares_the_scale_error_of_its_readings(work: Work) -> None:
    results = work([sweep()], levels(EndOfResponse(1, 30.0), FLAT, 0.25))
    corner = named(results, "corner_low").measure
    assert abs(corner.terms["ac decibel scale"]) > 0.1
    capacitor = named(results, "coupling_capacitance").measure
    relative = corner.standard_uncertainty / corner.value
    expected = math.hypot(relative, 0.025)
    assert capacitor.standard_uncertainty / capacitor.value == pytest.approx(expected, rel=0.02)


def test_equal_neighbours_do_not_average_their_rounding(work: Work) -> None:
    # Eleven times "flat" says no more of the middle than once, and the corner hangs on it.
    results = work([sweep()], levels(EndOfResponse(1, 14.0), FLAT, 0.5))
    terms = named(results, "corner_low").measure.terms
    rows = [source for source in terms if "rounding" in source]
    assert 1 < len(rows) < 9


def test_levels_off_any_curve_widen_the_corner(work: Work) -> None:
    smooth = levels(EndOfResponse(1, 20.0), FLAT, 0.25)
    random = np.random.default_rng(2)
    rough = {
        key: f"{float(text) + random.choice([-0.75, 0.75]):.2f}" for key, text in smooth.items()
    }
    neat = named(work([sweep()], smooth), "corner_low").measure
    wide = named(work([sweep()], rough), "corner_low").measure
    assert wide.standard_uncertainty > 1.3 * neat.standard_uncertainty


def test_a_hump_of_a_row_on_one_side_of_the_reference_is_told(scene: Scene) -> None:
    # Steps of half a decibel: 0.144 dB each, times 3 and root 2 is 0.61 dB. What the setting of the
    # reference shares with all levels lifts the whole row and makes no hump less sure.
    row = {"10 Hz": "-6", "20 Hz": "0", "30 Hz": "0.8", "60 Hz": "0", "100 Hz": "0"}
    step = sweep(tuple(row))
    typed = {f"sweep///{text}": level for text, level in row.items()}
    both = sweep((*row, "5 kHz"))
    assert named(results_of(scene, [both], typed | {"sweep///5 kHz": "0"}), "peak_db").value == 0.8
    assert named(results_of(scene, [step], typed), "peak_db").value == 0.8


def test_a_peak_is_never_said_to_lie_beyond_half_way_to_its_neighbours(scene: Scene) -> None:
    row = {"10 Hz": "-6", "20 Hz": "0", "30 Hz": "0.8", "60 Hz": "0", "100 Hz": "0"}
    typed = {f"sweep///{text}": level for text, level in row.items()}
    peak = named(results_of(scene, [sweep(tuple(row))], typed), "peak_frequency")
    half = 0.25 * math.log(60.0 / 20.0) * 30.0
    # 95.45 % of a rectangle, JCGM 100 G.6.5; twice its standard uncertainty would be 1.15 of it.
    assert peak.measure.expanded_uncertainty == pytest.approx(0.9545 * half, rel=1e-3)
