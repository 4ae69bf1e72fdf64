"""The clock of an attended rehearsal keeps the rests that the bench waits out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from stepwise.cli.plans import rehearsal_plan
from stepwise.cli.rehearse import answer_all
from stepwise.journal import read_journal
from stepwise.rehearsal import AttendedClock, RehearsalBench
from stepwise.run import Run

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


def test_a_rest_is_kept_when_the_bench_answers_at_once(tmp_path: Path) -> None:
    plan = rehearsal_plan("first-look")
    bench, clock = RehearsalBench(1, plan.unit, plan.bench), AttendedClock(lambda: START)
    bench.keep(clock)
    with Run.start(plan, tmp_path, clock, rehearsal={"seed": 1, "faults": []}) as run:
        answer_all(run, bench)
        assert "rest-not-kept" not in {flag.name for flag in run.flags()}
        times = [event.at for event in read_journal(run.folder).events]
    assert times == sorted(times)
    assert clock() > START + timedelta(minutes=3)


def test_real_time_counts_towards_what_is_spent() -> None:
    real = [START]
    clock = AttendedClock(lambda: real[0])
    real[0] += timedelta(seconds=40)
    clock.spend(30.0)
    assert clock() == real[0]
    clock.spend(30.0)
    assert clock() == real[0] + timedelta(seconds=30)


def test_it_goes_on_from_the_journal_and_never_back() -> None:
    later = START + timedelta(minutes=9)
    real = [START]
    clock = AttendedClock(lambda: real[0], later)
    assert clock() == later
    real[0] -= timedelta(seconds=5)
    assert clock() == later
