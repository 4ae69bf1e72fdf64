"""What another occasion adds to a difference follows how results hang on level and mains."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from stepwise.archive.compare import compare_runs
from stepwise.archive.occasion import _CLEAN, _FED, occasion_terms
from stepwise.judge import Result
from stepwise.run import Run, read_run
from tests.archive.entries import played, small_plan
from tests.run import plans

STEP = 1.01
PLACE = ("clip", "left", "8 ohm")
SUPPLIED = plans.BENCH + '[supply]\nsecondary = "24 V"\nwindings = 2\nrating = "160 VA"\n'


def run_of(folder: Path) -> Run:
    return read_run(folder).run


def found(run: Run) -> dict[str, Result]:
    return {
        each.name: each for each in run.results() if (each.step, each.channel, each.load) == PLACE
    }


def exponents(tmp_path: Path, **scaled: float) -> dict[str, float]:
    """Power of a change that each result follows, when what is read is scaled by one hundredth.

    A run has two readings of the rail, idle and with the tone on; both are scaled alike.
    """
    plan = small_plan(bench=SUPPLIED)
    usual = {"level": 1.9, "rail_plus": 35.0}
    form = {"level": "{:.6f} on 3 x10", "rail_plus": "{:.6f}"}
    runs = []
    for factors in ({}, scaled):
        typed = {n: form[n].format(v * factors.get(n, 1.0)) for n, v in usual.items()}
        runs.append(found(run_of(played(tmp_path, plan, **typed))))
    before, after = runs
    return {
        name: math.log(after[name].value / each.value) / math.log(STEP)
        for name, each in before.items()
        if name in after and each.value * after[name].value > 0.0
    }


def test_results_follow_the_set_level_as_stated(tmp_path: Path) -> None:
    """The powers of the table against the workings themselves, by a change of one hundredth."""
    got = exponents(tmp_path, level=STEP)
    for name in ("level", "power", "peak_current", "supply_current", "supply_power", "efficiency"):
        assert got[name] == pytest.approx(_CLEAN[name], abs=0.05), name
    assert got["dissipation"] < 0.0


def test_results_follow_the_mains_as_stated(tmp_path: Path) -> None:
    """Rails and the level before clipping rise together when the mains does."""
    got = exponents(tmp_path, level=STEP, rail_plus=STEP)
    checked = {"level", "power", "supply_power", "peak_current", "ceiling", "headroom_loss"}
    for name in checked:
        assert got[name] == pytest.approx(_FED[name], abs=0.05), name
    assert got["efficiency"] == pytest.approx(0.0, abs=0.05)
    assert "efficiency" not in _FED


def test_what_does_not_hang_on_level_or_mains_gets_nothing(tmp_path: Path) -> None:
    run = run_of(played(tmp_path))
    for each in run.results():
        terms = dict(occasion_terms(each, run))
        if each.name in ("offset", "corner_low", "level_db", "reference"):
            assert terms == {}
        if each.name == "power":
            assert len(terms) == 2
            assert all(term > 0.0 for term in terms.values())


def test_sag_carries_the_mains_of_both_passes_once(tmp_path: Path) -> None:
    """The run counts it already; what another occasion adds is the level that is set anew."""
    run = run_of(played(tmp_path, small_plan(bench=SUPPLIED)))
    sag = found(run)["sag"]
    assert sum("mains" in source for source in sag.measure.terms) == 2
    assert [source for source in dict(occasion_terms(sag, run)) if "mains" in source] == []


def test_two_runs_do_not_share_their_mains(tmp_path: Path) -> None:
    views = [read_run(played(tmp_path, small_plan(bench=SUPPLIED))) for _ in range(2)]
    sag = next(each for each in compare_runs(views).results if each.name == "sag")
    change = sag.differences[1]
    assert change is not None
    mains = [source for source in change.measure.terms if "mains" in source]
    assert len(mains) == 4


def test_a_bench_supply_does_not_wander_with_the_mains(tmp_path: Path) -> None:
    bench = plans.BENCH + '[supply]\nkind = "laboratory supply"\n'
    run = run_of(played(tmp_path, small_plan(bench=bench)))
    rail = next(each for each in run.results() if each.name == "rail_plus")
    assert dict(occasion_terms(rail, run)) == {}
