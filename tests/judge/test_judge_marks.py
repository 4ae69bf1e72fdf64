"""Marks: linear between two anchors, level beyond, one total with what it rests on."""

from __future__ import annotations

import math
import random

import pytest

from stepwise.judge import Criterion, Result, Where, give_marks, mark_of, mark_text
from stepwise.quantities import Uncertain

POWER = Criterion("Power", 3, "power", "W", zero=20.0, ten=80.0)


def result(name: str, value: float, unit: str = "W", **more: object) -> Result:
    terms = more.pop("terms", {})
    place = {"channel": None, "load": None, "point": None, "key": None} | more
    measure = Uncertain(value, terms)  # type: ignore[arg-type]
    return Result(
        "clip", place["channel"], place["load"], place["point"], name, measure, unit, name,
        key=place["key"],
    )  # type: ignore[arg-type]  # fmt: skip


@pytest.mark.parametrize(
    ("watts", "mark"), [(20.0, 0.0), (50.0, 5.0), (80.0, 10.0), (5.0, 0.0), (95.0, 10.0)]
)
def test_the_mark_is_linear_between_the_anchors_and_level_beyond(watts: float, mark: float) -> None:
    assert mark_of(POWER, Uncertain(watts)).value == pytest.approx(mark)


def test_less_can_be_better() -> None:
    heat = Criterion("Heat", 1, "temperature", "C", zero=90.0, ten=30.0)
    assert mark_of(heat, Uncertain(45.0)).value == pytest.approx(7.5)


def test_size_counts_whatever_the_sign() -> None:
    offset = Criterion("Offset", 1, "offset", "V", zero=0.1, ten=0.0, size=True)
    up, down = (mark_of(offset, Uncertain(v, {"dc": 0.001})) for v in (0.02, -0.02))
    assert up.value == down.value == pytest.approx(8.0)
    assert up.standard_uncertainty == pytest.approx(down.standard_uncertainty) == pytest.approx(0.1)


def test_inside_the_scale_the_uncertainty_is_scaled_and_keeps_its_source() -> None:
    mark = mark_of(POWER, Uncertain(50.0, {"ac 3 range": 1.2}))
    assert mark.terms["ac 3 range"] == pytest.approx(0.2, rel=1e-6)


def test_at_an_anchor_half_of_the_uncertainty_counts() -> None:
    """Stein's lemma: the slope of a clipped line is met with the probability to lie inside."""
    mark = mark_of(POWER, Uncertain(80.0, {"ac": 3.0}))
    assert mark.value == 10.0
    assert mark.standard_uncertainty == pytest.approx(0.25, rel=1e-3)
    far = mark_of(POWER, Uncertain(120.0, {"ac": 3.0}))
    assert far.standard_uncertainty < 1e-9


def test_beyond_the_scale_no_uncertainty_is_too_large() -> None:
    far = mark_of(POWER, Uncertain(1e300, {"ac": math.inf, "dc": 1e299}))
    assert (far.value, far.stated_uncertainty) == (10.0, 0.0)
    assert mark_text(far) == "10.0"


def test_the_covariance_of_a_clipped_mark_agrees_with_drawn_values() -> None:
    draw = random.Random(5)
    spread = 6.0
    errors = [draw.gauss(0.0, spread) for _ in range(200_000)]
    marks = [min(10.0, max(0.0, (76.0 + e - 20.0) / 6.0)) for e in errors]
    mean = sum(marks) / len(marks)
    drawn = sum((m - mean) * e for m, e in zip(marks, errors, strict=True)) / len(marks) / spread
    said = mark_of(POWER, Uncertain(76.0, {"ac": spread})).terms["ac"]
    assert said == pytest.approx(drawn, rel=0.02)


def test_the_worst_channel_counts_or_the_mean() -> None:
    found = [
        result("power", 62.0, channel="left", load="4 ohm"),
        result("power", 50.0, channel="right", load="4 ohm"),
    ]
    (worst,) = give_marks([POWER], found).lines
    assert worst.mark is not None
    assert worst.mark.value == pytest.approx(5.0)
    assert worst.basis == (found[1],)
    assert worst.says == "50 W, right, 4 Ω, the worst of 2"
    mean = Criterion("Power", 3, "power", "W", zero=20.0, ten=80.0, where=Where.MEAN)
    (line,) = give_marks([mean], found).lines
    assert line.mark is not None
    assert line.mark.value == pytest.approx(6.0)


def test_only_the_load_the_step_and_the_point_that_are_named_count() -> None:
    found = [
        result("power", 30.0, load="8 ohm"),
        result("power", 60.0, load="4 ohm"),
    ]
    eight = Criterion("Power", 1, "power", "W", zero=0.0, ten=60.0, load="8 ohm")
    elsewhere = Criterion("Power", 1, "power", "W", zero=0.0, ten=60.0, step="other")
    marks = give_marks([eight, elsewhere], found)
    assert marks.lines[0].mark is not None
    assert marks.lines[0].mark.value == pytest.approx(5.0)
    assert marks.lines[1].mark is None


def test_a_shared_meter_does_not_average_out_of_the_total() -> None:
    eight = Criterion("8", 1, "power", "W", zero=0.0, ten=100.0, load="8 ohm")
    four = Criterion("4", 1, "power", "W", zero=0.0, ten=100.0, load="4 ohm")
    shared = [
        result("power", 50.0, load="8 ohm", terms={"ac 3 range": 2.0}),
        result("power", 50.0, load="4 ohm", terms={"ac 3 range": 2.0}),
    ]
    apart = [shared[0], result("power", 50.0, load="4 ohm", terms={"ac 10 range": 2.0})]
    together = give_marks([eight, four], shared).total
    alone = give_marks([eight, four], apart).total
    assert together is not None
    assert alone is not None
    assert together.standard_uncertainty == pytest.approx(0.2, rel=1e-6)
    assert alone.standard_uncertainty == pytest.approx(0.2 / math.sqrt(2.0), rel=1e-6)


def test_a_judged_mark_is_taken_as_given_and_known_to_half_a_point() -> None:
    build = Criterion("Build", 1, "build", judged=True)
    (line,) = give_marks([build], [result("build", 7.0, "", key="marks///build")]).lines
    assert line.mark is not None
    assert line.mark.value == 7.0
    assert line.mark.standard_uncertainty == pytest.approx(1.0 / math.sqrt(12.0))
    # 95.45 % of a rectangle of half a point either way, never more than that half itself.
    assert line.mark.expanded_uncertainty == pytest.approx(0.9545 * 0.5, abs=1e-4)
    assert line.figure == "7.0 ± 0.5"


def test_the_total_says_what_is_missing_and_how_far_it_could_move() -> None:
    build = Criterion("Build", 1, "build", judged=True)
    marks = give_marks([POWER, build], [result("power", 50.0)])
    assert marks.total is not None
    assert marks.total.value == pytest.approx(5.0)
    assert [line.criterion.name for line in marks.missing] == ["Build"]
    assert (marks.weight_given, marks.weight) == (3, 4)
    assert marks.span == pytest.approx((3.75, 6.25))


def test_no_scheme_no_total() -> None:
    marks = give_marks([], [result("power", 50.0)])
    assert (marks.lines, marks.total, marks.span) == ((), None, None)


def test_marks_are_printed_in_tenths() -> None:
    assert mark_text(Uncertain(7.44, {"a": 0.43})) == "7.4 ± 0.9"
    assert mark_text(Uncertain(5.3277, {"a": 0.005})) == "5.3"
    assert mark_text(None) == "—"
