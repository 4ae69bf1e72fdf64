"""The bench's own response: from its log into a run, recorded whole, refused where there is none."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.errors import JournalError, RunError
from stepwise.quantities import Source
from stepwise.run import Plan, Run, plan_from_begin, plan_from_texts, read_run, with_bench_log
from stepwise.steps import read_bench_response
from tests.run.plans import BENCH, UNIT, Clock, plan

SWEEP = """\
[procedure]
title = "Sweep"
revision = 1
summary = "sweep"
[[step]]
id = "sweep"
kind = "sweep"
title = "Sweep"
points = ["10 Hz", "20 Hz", "10 kHz", "20 kHz", "28 kHz"]
reference_again = false
"""
OF_BENCH = SWEEP.replace('id = "sweep"', 'id = "flatness"\nof_bench = true').replace(
    ', "28 kHz"', ', "40 kHz"'
)
ANSWERS = {"10 Hz": "-1", "20 Hz": "-0.5", "10 kHz": "flat", "20 kHz": "-0.5", "40 kHz": "-1.5"}


def swept(procedure: str, logs: Path, clock: Clock, bench: str = BENCH) -> Path:
    with Run.start(plan_from_texts(procedure, UNIT, bench, "sweep"), logs, clock) as run:
        while (prompt := run.next_prompt()) is not None:
            run.take(prompt.key, ANSWERS.get(prompt.point, "2.0 on 3"), sure=True)
        run.end()
        return run.folder


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def log(tmp_path: Path, clock: Clock) -> Path:
    return swept(OF_BENCH, tmp_path / "bench", clock)


@pytest.fixture
def corrected(log: Path) -> Plan:
    return with_bench_log(plan_from_texts(SWEEP, UNIT, BENCH, "sweep"), log)


@pytest.fixture
def run(corrected: Plan, tmp_path: Path, clock: Clock) -> Iterator[Run]:
    with Run.start(corrected, tmp_path / "logs", clock) as run:
        run.take("sweep///reference", "2.0 on 3", sure=True)
        run.take("sweep///10 Hz", "-4", sure=True)
        run.take("sweep///20 Hz", "-2", sure=True)
        run.take("sweep///28 kHz", "-2", sure=True)
        yield run


def levels(run: Run) -> dict[str, float]:
    return {each.point or "": each.value for each in run.results() if each.name == "level_db"}


def test_what_the_bench_does_itself_is_taken_off(run: Run) -> None:
    found = levels(run)
    assert found["10 Hz"] == pytest.approx(-3.0)
    assert found["20 Hz"] == pytest.approx(-1.5)
    # The square of 28 kHz lies a third of the way from 20 kHz (-0.5 dB) to 40 kHz (-1.5 dB).
    assert found["28 kHz"] == pytest.approx(-1.18, abs=0.01)


def test_the_sheet_says_so(run: Run) -> None:
    line = run.line("sweep///10 Hz")
    assert line is not None
    assert "less the bench's -1.00 dB" in line.what
    assert line.typed == "-4"


def test_the_log_needs_no_other(run: Run, corrected: Plan, log: Path, clock: Clock) -> None:
    before = run.results()
    run.close()
    shutil.rmtree(log)
    assert read_run(run.folder).run.results() == before
    with Run.resume(run.folder, clock) as again:
        assert again.plan.bench_response == corrected.bench_response
        assert again.results() == before
        assert again.prompt("sweep///10 Hz").ask == run.prompt("sweep///10 Hz").ask


def test_what_is_written_of_it_keeps_the_shape_of_its_errors(run: Run, corrected: Plan) -> None:
    assert corrected.bench_response is not None
    level = corrected.bench_response.at(10.0, 1000.0)
    assert level is not None
    # a reading rounded to half a decibel and one limit of error: rectangles all of them
    assert level.coverage_factor < 1.99
    run.close()
    kept = read_run(run.folder).run.plan.bench_response
    assert kept is not None
    assert kept.at(10.0, 1000.0) == level


def test_a_log_of_before_shapes_were_written_is_read_as_it_was(corrected: Plan) -> None:
    assert corrected.bench_response is not None
    old = corrected.bench_response.recorded()
    for level in old["levels"]:
        del level["spread"]
    kept = read_bench_response(old)
    assert kept is not None
    level = kept.at(10.0, 1000.0)
    assert level is not None
    assert level.coverage_factor == 2.0
    assert not any(isinstance(source, Source) for source in level.terms)


def test_a_plan_without_it_stays_as_it_was(tmp_path: Path, clock: Clock) -> None:
    folder = swept(SWEEP, tmp_path / "logs", clock)
    view = read_run(folder)
    assert view.run.plan.bench_response is None
    assert levels(view.run)["10 Hz"] == -1.0


def test_a_log_without_a_sweep_of_the_bench_is_refused(tmp_path: Path, clock: Clock) -> None:
    folder = swept(SWEEP, tmp_path / "logs", clock)
    with pytest.raises(RunError, match="holds no sweep of the bench itself"):
        with_bench_log(plan(), folder)


def test_a_sweep_that_was_never_read_is_refused(tmp_path: Path, clock: Clock) -> None:
    with Run.start(plan_from_texts(OF_BENCH, UNIT, BENCH, "x"), tmp_path, clock) as run:
        run.take("flatness///reference", "2.0 on 3", sure=True)
    with pytest.raises(RunError, match="was not read"):
        with_bench_log(plan(), run.folder)


def test_the_log_of_another_bench_is_refused(tmp_path: Path, clock: Clock) -> None:
    other = BENCH.replace("Hall workshop", "Harbour shed")
    folder = swept(OF_BENCH, tmp_path / "logs", clock, other)
    with pytest.raises(RunError, match=r"Harbour shed.*Hall workshop"):
        with_bench_log(plan(), folder)


def test_a_first_line_with_another_shape_is_refused(run: Run) -> None:
    begin = dict(run.state.begin)
    begin["bench_response"] = {"levels": "none"}
    with pytest.raises(JournalError, match="bench's own response"):
        plan_from_begin(begin, run.folder)
