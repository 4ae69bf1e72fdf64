"""`stepwise rehearse` with faults: severities in words, what is revealed, a clock of its own."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from stepwise.cli.entry import main
from stepwise.cli.plans import rehearsal_bench, rehearsal_plan
from stepwise.cli.rehearse import answer_all
from stepwise.journal import read_journal
from stepwise.rehearsal import FAULTS, RehearsalBench
from stepwise.run import Run

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


def rehearsed(capsys: pytest.CaptureFixture[str], logs: Path, *words: str) -> tuple[int, list[str]]:
    code = main(["rehearse", "quick-check", "--unattended", "--logs", str(logs), *words])
    return code, capsys.readouterr().out.splitlines()


def test_faults_are_revealed_before_the_folder(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    code, lines = rehearsed(capsys, tmp_path, "--fault", "dc-offset", "--fault", "weak-rail:mild")
    assert code == 1
    text = " ".join(line.strip() for line in lines[lines.index("What was in it") :])
    assert "dc-offset, severe: " in text
    assert "Noticed: dc-offset." in text
    assert "weak-rail, mild: " in text
    assert Path(lines[-1]).is_dir()


def test_a_sound_rehearsal_has_nothing_to_reveal(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    code, lines = rehearsed(capsys, tmp_path)
    assert code == 0
    assert "What was in it" not in lines


def test_time_is_the_benchs_own_and_ends_before_now(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    _, lines = rehearsed(capsys, tmp_path)
    times = [
        datetime.fromisoformat(event.at)
        for event in read_journal(Path(lines[-1]) / "journal.jsonl").events
    ]
    assert times == sorted(times)
    assert (times[-1] - times[0]).total_seconds() > 300.0
    assert times[-1] < datetime.now(UTC)


def test_last_is_the_rehearsal_just_made(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    # The first is planned for ten minutes and the second for an hour, so it begins before it.
    rehearsed(capsys, tmp_path)
    main(["rehearse", "thermal-soak", "--unattended", "--logs", str(tmp_path)])
    made = capsys.readouterr().out.splitlines()[-1]
    main(["report", "last", "--logs", str(tmp_path)])
    assert Path(capsys.readouterr().out.splitlines()[-1]).parent == Path(made)


def test_the_list_says_what_each_fault_leads_to(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rehearse", "--fault", "list"]) == 0
    out = capsys.readouterr().out
    for fault in FAULTS.values():
        assert f"\n{fault.name}\n" in f"\n{out}"
        assert all(flag in out for flag in fault.flags)
    assert "mild" in out


def test_who_is_doubted_looks_again_and_the_slip_is_revealed(tmp_path: Path) -> None:
    plan = rehearsal_plan("first-look")
    faults = [("peak-to-peak-for-rms", 1.0)]
    bench = RehearsalBench(3, plan.unit, plan.bench, faults)
    made = {"seed": 3, "faults": faults}
    with Run.start(plan, tmp_path, bench.clock(START), rehearsal=made) as run:
        answer_all(run, bench)
        assert run.is_complete()
        assert [doubt.slip for doubt in run.state.doubts] == ["peak-to-peak"]
        assert "Noticed: peak-to-peak." in bench.reveal(run)[0]
        sound = RehearsalBench(3, plan.unit, plan.bench)
        key = bench.person.made[0]
        assert run.state.answers[key].typed == sound.answer(run.prompt(key), run.card(key))


def test_a_rehearsal_that_is_carried_on_is_as_warm_as_it_was(tmp_path: Path) -> None:
    plan = rehearsal_plan("quick-check")
    bench = RehearsalBench(5, plan.unit, plan.bench)
    made = {"seed": 5, "faults": []}
    with Run.start(plan, tmp_path, bench.clock(START), rehearsal=made) as run:
        taken = []
        while (prompt := run.next_prompt()) is not None and prompt.kind != "thermal":
            taken.append(prompt.key)
            typed = bench.answer(prompt, run.card(prompt.key))
            assert run.take(prompt.key, typed or "", sure=True).line is not None
        # An early reading taken again: the order of answers is not that of the prompts.
        again = run.prompt(next(key for key in taken if "clip" in key))
        run.take(again.key, bench.answer(again, run.card(again.key)) or "", sure=True)
        carried = rehearsal_bench(run)
        assert isinstance(carried, RehearsalBench)
        assert carried.history.warmth == bench.history.warmth
