"""Runs side by side: what differs, by how much, and whether that is more than chance."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from stepwise.archive import (
    Bearing,
    Change,
    ComparedResult,
    Comparison,
    compare_runs,
    comparison_record,
)
from stepwise.errors import StepwiseError
from stepwise.judge import Result
from stepwise.run import Plan, Run, plan_from_texts, read_run
from tests.archive.entries import played, small_plan
from tests.run import plans

OTHER_BENCH = plans.BENCH.replace("Hall workshop", "Kitchen table")


def compared(*folders: Path) -> Comparison:
    return compare_runs([read_run(folder) for folder in folders])


def found(comparison: Comparison, name: str, **where: str | None) -> ComparedResult:
    return next(
        each
        for each in comparison.results
        if each.name == name and all(getattr(each, key) == want for key, want in where.items())
    )


def conditions(comparison: Comparison) -> dict[str, Bearing]:
    return {each.what: each.bearing for each in comparison.conditions}


def test_a_run_beside_its_own_copy_differs_in_nothing(tmp_path: Path) -> None:
    comparison = compared(played(tmp_path), played(tmp_path))
    assert comparison.conditions == ()
    assert comparison.is_comparable
    assert comparison.differing == ()
    assert comparison.judged > 10
    assert comparison.sentence.startswith(f"0 of {comparison.judged} results differ")


def test_on_one_bench_the_meters_class_is_not_counted_twice(tmp_path: Path) -> None:
    """19 and 19.2 V on one range: the class of 3 % moves both alike; only the look remains."""
    one = played(tmp_path)
    other = played(tmp_path, level="1.92 on 3 x10")
    same_bench = found(compared(one, other), "level", channel="left", load="8 ohm")
    elsewhere = played(tmp_path, small_plan(bench=OTHER_BENCH), level="1.92 on 3 x10")
    two_benches = found(compared(one, elsewhere), "level", channel="left", load="8 ohm")
    assert same_bench.differences[1] is not None
    assert two_benches.differences[1] is not None
    near = same_bench.differences[1].measure
    far = two_benches.differences[1].measure
    assert near.value == far.value == pytest.approx(0.2)
    class_error = 0.03 * 3.0 * 10.0 / math.sqrt(3.0)
    assert far.standard_uncertainty**2 - near.standard_uncertainty**2 == pytest.approx(
        2.0 * class_error**2
    )


def test_a_load_that_was_measured_anew_is_another_source(tmp_path: Path) -> None:
    bench = plans.BENCH.replace("8.06 ohm", "8.01 ohm")
    comparison = compared(played(tmp_path), played(tmp_path, small_plan(bench=bench)))
    assert conditions(comparison) == {"load 8 Ω": Bearing.MATTERS}
    power = found(comparison, "power", channel="left", load="8 ohm")
    four = found(comparison, "power", channel="left", load="4 ohm")
    assert power.differences[1] is not None
    assert four.differences[1] is not None
    assert {"A: load 8 ohm", "B: load 8 ohm"} <= set(power.differences[1].measure.terms)
    assert not any("load 4 ohm" in source for source in four.differences[1].measure.terms)


def test_a_change_beyond_the_uncertainties_is_said_with_its_direction(tmp_path: Path) -> None:
    comparison = compared(
        played(tmp_path), played(tmp_path, **{"rail_plus": "30.0", "20 Hz": "-1.5"})
    )
    rail = found(comparison, "rail_plus", step="idle", channel="left")
    assert rail.differences[1] is not None
    assert rail.differences[1].change is Change.LESS
    assert rail.differs
    assert rail in comparison.differing
    assert rail.differences[1].figure("V").startswith("-5.0")


def test_what_differs_in_the_conditions_is_listed_gravest_first(tmp_path: Path) -> None:
    bench = OTHER_BENCH + '[supply]\nsecondary = "30 V"\nrating = "300 VA"\n'
    bench = bench.replace("3 % of full scale", "1.5 % of full scale")
    other = played(tmp_path, small_plan(bench=bench), reference="1.0 on 3")
    comparison = compared(played(tmp_path), other)
    told = conditions(comparison)
    assert told["supply"] is Bearing.MATTERS
    assert told["level of sweep left"] is Bearing.MATTERS
    assert told["meter ac"] is Bearing.NOTE
    assert told["bench"] is Bearing.NOTE
    order = [list(Bearing).index(each.bearing) for each in comparison.conditions]
    assert order == sorted(order)
    assert comparison.is_comparable


def test_a_rehearsal_is_not_compared_with_readings(tmp_path: Path) -> None:
    with Run.start(
        small_plan(), tmp_path, plans.Clock(), rehearsal={"seed": 1, "faults": []}
    ) as run:
        plans.play(run)
        folder = run.folder
    comparison = compared(played(tmp_path), folder)
    assert not comparison.is_comparable
    assert comparison.conditions[0].values == ("real", "simulated")
    both = [each for each in comparison.shown if None not in each.values]
    assert both
    assert all(each.differences == (None, None) for each in both)
    assert comparison.differing == ()
    assert comparison.sentence.startswith("Not held against one another, only side by side")


def test_a_procedure_that_was_changed_is_told(tmp_path: Path) -> None:
    def changed(text: str) -> Plan:
        from stepwise.run import plan_from_texts

        return plan_from_texts(text, plans.UNIT, plans.BENCH, "try")

    reworded = played(tmp_path, changed(plans.PROCEDURE.replace('"Positive rail"', '"Rail"')))
    raised = played(tmp_path, changed(plans.PROCEDURE.replace("revision = 1", "revision = 2")))
    first = played(tmp_path)
    assert conditions(compared(first, reworded)) == {"wording of the procedure": Bearing.MATTERS}
    assert conditions(compared(first, raised)) == {"procedure": Bearing.MATTERS}


def test_before_and_after_a_repair_flags_come_and_go(tmp_path: Path) -> None:
    before = played(tmp_path, **{"30 Hz": "-6", "20 Hz": "-9", "10 Hz": "-15"})
    after = played(tmp_path, **{"60 Hz": "flat", "30 Hz": "-0.5", "20 Hz": "-1", "10 Hz": "-3"})
    comparison = compared(before, after)
    roll_off = [each for each in comparison.flags if "roll-off" in each.flag.name]
    assert roll_off
    assert all(each.on == (True, False) for each in roll_off)
    corner = found(comparison, "corner_low", channel="left")
    assert corner.differences[1] is not None
    assert corner.differences[1].change is Change.LESS


def test_a_result_that_one_side_lacks_is_shown_without_a_difference(tmp_path: Path) -> None:
    with Run.start(small_plan(), tmp_path, plans.Clock()) as run:
        plans.play(run, until="clip/right/4 ohm/level")
        folder = run.folder
    power = found(compared(played(tmp_path), folder), "power", channel="right", load="4 ohm")
    assert power.values[0] is not None
    assert power.values[1] is None
    assert power.differences == (None, None)
    assert power.figures[1] == "—"


def test_a_result_that_is_of_another_unit_there_is_not_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, two = played(tmp_path), played(tmp_path)
    real = Run.results

    def results(run: Run) -> tuple[Result, ...]:
        is_second = run.folder == two
        return tuple(
            replace(each, unit="A") if is_second and each.name == "rail_plus" else each
            for each in real(run)
        )

    monkeypatch.setattr(Run, "results", results)
    comparison = compared(one, two)
    rows = [each for each in comparison.results if each.name == "rail_plus"]
    assert {row.unit: [v is not None for v in row.values] for row in rows} == {
        "V": [True, False],
        "A": [False, True],
    }
    assert all(row.differences == (None, None) for row in rows)


def test_results_of_differently_named_steps_find_each_other(tmp_path: Path) -> None:
    from stepwise.run import plan_from_texts

    renamed = plans.PROCEDURE.replace('id = "clip"', 'id = "power-test"')
    other = played(tmp_path, plan_from_texts(renamed, plans.UNIT, plans.BENCH, "other"))
    comparison = compared(played(tmp_path), other)
    power = found(comparison, "power", channel="left", load="8 ohm")
    assert power.values[1] is not None
    assert sum(each.name == "power" for each in comparison.results) == 4


def test_curves_are_laid_over_one_another(tmp_path: Path) -> None:
    comparison = compared(played(tmp_path), played(tmp_path, **{"20 Hz": "-4.0"}))
    left, right = comparison.curves
    assert (left.step, left.channel, right.channel) == ("sweep", "left", "right")
    assert left.frequencies == (10.0, 20.0, 30.0, 60.0, 100.0)
    assert [value.value for value in left.points[1].values if value] == [-4.5, -4.0]
    assert all(curve is not None and curve.frequencies for curve in left.curves)


def test_readings_on_the_way_are_kept_apart(tmp_path: Path) -> None:
    comparison = compared(played(tmp_path), played(tmp_path))
    ways = {each.name for each in comparison.results if each.is_way}
    assert "reference" in ways
    assert not {"power", "corner_low", "offset"} & ways
    assert not any(each.is_way for each in comparison.shown)


def test_three_sides_are_held_against_the_first(tmp_path: Path) -> None:
    folders = [played(tmp_path, rail_plus=volts) for volts in ("35.0", "30.0", "33.0")]
    rail = found(compared(*folders), "rail_plus", step="idle", channel="left")
    assert [each and round(each.measure.value, 6) for each in rail.differences] == [
        None,
        -5.0,
        -2.0,
    ]


def test_one_log_cannot_be_compared(tmp_path: Path) -> None:
    with pytest.raises(StepwiseError, match="takes 2 to 26 logs, not 1"):
        compared(played(tmp_path))


def test_the_record_holds_what_is_shown(tmp_path: Path) -> None:
    import json

    comparison = compared(played(tmp_path), played(tmp_path, rail_plus="30.0"))
    record = json.loads(json.dumps(comparison_record(comparison), allow_nan=False))
    assert record["format"] == 1
    assert [side["side"] for side in record["sides"]] == ["A", "B"]
    rail = next(each for each in record["results"] if each["name"] == "rail_plus")
    assert rail["differences"][1]["change"] == "less"
    assert record["curves"][0]["points"][0]["frequency"] == 10.0


BARE = """\
[procedure]
title = "Try"
revision = 1
summary = "try"
[[step]]
id = "idle"
kind = "readings"
title = "Idle"
readings = [{ name = "drawn", ask = "Idle current", unit = "mA" }]
"""


def test_what_only_the_last_digit_is_known_of_is_set_side_by_side_alone(tmp_path: Path) -> None:
    views = []
    for typed in ("53.7", "61.2"):
        plan = plan_from_texts(BARE, plans.UNIT, plans.BENCH, "try")
        with Run.start(plan, tmp_path, plans.Clock()) as run:
            run.take("idle///drawn", typed, sure=True)
            run.end()
            views.append(read_run(run.folder))
    (drawn,) = compare_runs(views).results
    change = drawn.differences[1]
    assert change is not None
    assert (change.change, change.figure("A")) == (Change.UNKNOWN, "+7.5 mA")
    assert drawn.figures == ("53.7 mA", "61.2 mA")
