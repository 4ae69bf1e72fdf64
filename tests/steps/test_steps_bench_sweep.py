"""A sweep of the bench itself, and a square wave of the board in one procedure: kept apart."""

from __future__ import annotations

import msgspec

from stepwise.judge import Findings
from stepwise.judge.flags import find_flags
from stepwise.steps import ReadingsFields, SquareFields, SweepFields
from stepwise.steps.flag_facts import flag_facts

POINTS = ("20 Hz", "100 Hz", "10 kHz", "20 kHz", "40 kHz")
LEVELS = ("-3", "-0.5", "-1", "-3", "-8")
SQUARE = msgspec.convert(
    {
        "kind": "square",
        "id": "square",
        "title": "Square",
        "level": "10 V",
        "looks": [{"tone": "10 kHz", "look_for": ["rise_time"]}],
    },
    SquareFields,
)


def sweep(step: str, *, of_bench: bool) -> SweepFields:
    return SweepFields(id=step, title=step, points=POINTS, meter="ac", of_bench=of_bench)


def typed(step: str) -> dict[str, str]:
    levels = {f"{step}///{point}": level for point, level in zip(POINTS, LEVELS, strict=True)}
    return {f"{step}///reference": "1.0", **levels}


def flags(scene, steps, results) -> set[str]:
    return {flag.name for flag in find_flags(Findings(results, flag_facts(scene, steps)))}


def test_an_edge_is_not_held_against_the_bench_s_own_bandwidth(scene, work) -> None:
    """40 us is far longer than 0.35 / 20 kHz explains; of the board nothing was swept."""
    answers = {"square///10 kHz/none/rise_time": "40 us"}
    bench = [sweep("bench", of_bench=True), SQUARE]
    found = work(bench, {**typed("bench"), **answers})
    assert not [each for each in found if each.name == "slew_rate"]
    assert "slew-limited" not in flags(scene, bench, found)

    board = [sweep("board", of_bench=False), SQUARE]
    found = work(board, {**typed("board"), **answers})
    assert [each for each in found if each.name == "slew_rate"]
    assert "slew-limited" in flags(scene, board, found)


def test_a_fast_edge_does_not_contradict_the_bench(scene, work) -> None:
    answers = {"square///10 kHz/none/rise_time": "2 us"}
    for step, of_bench in (("bench", True), ("board", False)):
        steps = [sweep(step, of_bench=of_bench), SQUARE]
        found = flags(scene, steps, work(steps, {**typed(step), **answers}))
        assert ("rise-time-against-sweep" in found) is not of_bench


def test_a_formula_takes_the_board_s_own_end_before_the_bench_s(work) -> None:
    """Whichever was read last; the bench's where there is no other."""
    derive = msgspec.convert(
        {
            "kind": "readings",
            "id": "sum",
            "title": "Sum",
            "readings": [{"name": "extra", "ask": "Extra", "unit": "Hz"}],
            "derive": [{"name": "seen", "unit": "Hz", "from": "minus_3db_high + 0 * extra"}],
        },
        ReadingsFields,
    )
    board, bench = sweep("board", of_bench=False), sweep("bench", of_bench=True)
    higher = {**typed("bench"), "bench///20 kHz": "-2.5"}
    answers = {**typed("board"), **higher, "sum///extra": "1"}
    found = work([board, bench, derive], answers)
    ends = {each.step: each.value for each in found if each.name == "minus_3db_high"}
    assert ends["bench"] > ends["board"]
    (seen,) = [each for each in found if each.name == "seen"]
    assert seen.value == ends["board"]

    found = work([bench, derive], {**higher, "sum///extra": "1"})
    (seen,) = [each for each in found if each.name == "seen"]
    assert seen.value == ends["bench"]
