"""Answers worked out before they are given: they cost less later, and leave no trace."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import pytest

from stepwise.errors import JournalError, RunError
from stepwise.journal import read_journal
from stepwise.procedure import procedures_folder
from stepwise.rehearsal import RehearsalBench, bench_text, unit_text
from stepwise.run import Run, Status, plan_from_texts
from stepwise.steps import KINDS
from tests.run.plans import Clock, plan, play

LEVEL = "sweep/left//30 Hz"


def test_nothing_is_written_and_nothing_that_is_shown_changes(tmp_path: Path) -> None:
    with Run.start(plan(), tmp_path, Clock()) as run:
        play(run, until=LEVEL)
        journal = run.folder / "journal.jsonl"
        before = journal.read_bytes(), run.state, run.results(), run.flags(), run.sheet()
        for text in ("-2", "-20", "350", "nonsense", "", "="):
            run.foresee(LEVEL, text)
        run.foresee("listen///1", "y")  # shut, or not yet asked
        assert (journal.read_bytes(), run.state, run.results(), run.flags(), run.sheet()) == before
        assert run.next_prompt().key == LEVEL


def test_what_was_foreseen_is_not_worked_out_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    worked = []
    sweep = KINDS["sweep"]
    results = sweep.results

    def counted(*given: object) -> object:
        worked.append(given[1])
        return results(*given)

    monkeypatch.setattr(type(sweep), "results", lambda _, *given: counted(*given))
    clock = Clock()
    with Run.start(plan(), tmp_path, clock) as run:
        play(run, until=LEVEL)
        worked.clear()
        run.foresee(LEVEL, "-2")
        assert len(worked) == 1
        clock.advance(3.0)
        assert run.take(LEVEL, "-2").status is Status.KEPT
        assert len(worked) == 1
        # another text than the one foreseen is of course worked out
        run.foresee("sweep/left//20 Hz", "-4")
        assert run.take("sweep/left//20 Hz", "-4.5").status is Status.KEPT
        assert len(worked) == 3


@pytest.mark.parametrize("name", ["quick-check", "after-repair", "thermal-soak"])
def test_a_run_that_foresees_all_sorts_is_the_same_run(name: str, tmp_path: Path) -> None:
    plain = played(name, tmp_path / "plain", foresees=False)
    assert len(plain) > 30
    assert played(name, tmp_path / "foreseeing", foresees=True) == plain


def played(name: str, logs: Path, *, foresees: bool) -> list[tuple[str, Mapping[str, object]]]:
    """Every event of a whole run on the simulated bench, with what was shown beside it."""
    logs.mkdir()
    text = (procedures_folder() / f"{name}.toml").read_text(encoding="utf-8")
    whole = plan_from_texts(text, unit_text(), bench_text(), name)
    bench, clock = RehearsalBench(7, whole.unit, whole.bench, (("weak-rail", 1.0),)), Clock()
    with Run.start(whole, logs, clock) as run:
        while (prompt := run.next_prompt()) is not None and run.blocked() is None:
            text = bench.answer(prompt, run.card(prompt.key)) or "none"
            clock.advance(25.0)
            if foresees:
                for typed in (text[:1], "-3.1", "12", text, f"{text}0"):
                    run.foresee(prompt.key, typed)
            clock.advance(15.0)
            if run.take(prompt.key, text).status is Status.DOUBTED:
                run.take(prompt.key, text, sure=True)
        run.end()
        events = read_journal(run.folder).events
    return [(event.kind, event.data) for event in events if event.kind != "begin"]


SOAK = """\
[procedure]
title = "Soak"
revision = 1
summary = "soak"
[[step]]
id = "heat"
kind = "thermal"
title = "Heat"
places = ["heatsink"]
at = ["2 min", "4 min", "6 min", "8 min"]
"""


def test_what_goes_by_the_clock_goes_by_the_moment_of_the_answer(tmp_path: Path) -> None:
    lateness = (5.0, 12.0, 3.0, 9.0)

    def found(
        folder: Path, late: tuple[float, ...] = lateness, *, foresees: bool = False
    ) -> dict[str, float]:
        clock = Clock()
        whole = plan_from_texts(SOAK, unit_text(), bench_text(), "soak")
        folder.mkdir()
        with Run.start(whole, folder, clock) as run:
            for celsius, seconds in zip(("30", "44", "52", "56.5"), late, strict=True):
                clock.advance(120.0)
                prompt = run.next_prompt()
                if foresees:
                    run.foresee(prompt.key, celsius)
                clock.advance(seconds)
                assert run.take(prompt.key, celsius).status is Status.KEPT
            return {each.name: each.value for each in run.results()}

    plain = found(tmp_path / "plain")
    assert plain["time_constant"] != found(tmp_path / "on-time", (0.0,) * 4)["time_constant"]
    assert found(tmp_path / "foreseeing", foresees=True) == plain


@contextmanager
def full_disk(run: Run) -> Iterator[None]:
    """No event can be written."""

    def full(*_: object) -> None:
        raise JournalError(run.folder, "no space left on the disk")

    with pytest.MonkeyPatch.context() as failing:
        failing.setattr(run._recorder.journal, "append", full)
        yield


def test_what_was_foreseen_but_could_not_be_written_is_no_answer(tmp_path: Path) -> None:
    with Run.start(plan(), tmp_path, Clock()) as run:
        play(run, until=LEVEL)
        results, lines = run.results(), run.sheet()
        run.foresee(LEVEL, "-2")
        with full_disk(run), pytest.raises(JournalError, match="no space"):
            run.take(LEVEL, "-2")
        assert (run.results(), run.sheet()) == (results, lines)
        assert run.take(LEVEL, "-2").status is Status.KEPT


def test_a_prompt_that_is_not_there_is_named(tmp_path: Path) -> None:
    with (
        Run.start(plan(), tmp_path, Clock()) as run,
        pytest.raises(RunError, match="nothing called “sweep”"),
    ):
        run.foresee("sweep", "1")


def test_no_figure_however_small_or_large_ends_the_program_while_it_is_typed(
    tmp_path: Path,
) -> None:
    with Run.start(plan(), tmp_path, Clock()) as run:
        play(run)
        for prompt in run.prompts:
            for text in ("5e-324", "1e-300 V", "-1e12", "0", "-0.0", "1e-300 on 3"):
                run.foresee(prompt.key, text)
        assert run.results()


def test_an_error_on_the_way_leaves_nothing_half_worked_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plus = "idle/left//rail_plus"

    def broken(*_: object) -> None:
        raise ArithmeticError("on the way")

    with Run.start(plan(), tmp_path, Clock()) as run:
        play(run, until=LEVEL)
        sag = {each.load: each.value for each in run.results() if each.name == "sag"}
        with monkeypatch.context() as breaking:
            # the passes that rest on the rail come after it
            breaking.setattr(type(KINDS["clip"]), "results", broken)
            with pytest.raises(ArithmeticError, match="on the way"):
                run.foresee(plus, "40")
        assert run.take(plus, "40", sure=True).status is Status.KEPT
        assert sag == {"8 ohm": 0.0, "4 ohm": 0.0}
        now = [each for each in run.results() if each.name == "sag" and each.channel == "left"]
        assert [round(each.value, 6) for each in now] == [12.5, 12.5]


def test_the_same_text_at_another_prompt_of_the_pass_is_another_answer(tmp_path: Path) -> None:
    plus, offset = "idle/left//rail_plus", "idle/left//offset"
    with Run.start(plan(), tmp_path, Clock()) as run:
        play(run, until=plus)
        run.foresee(offset, "12")
        outcome = run.take(plus, "12")
        assert [(each.key, each.value) for each in outcome.results] == [(plus, 12.0)]
        assert outcome.line.as_read.startswith("12.0 ± ")
        # nor is one that could not be written there
        with full_disk(run), pytest.raises(JournalError, match="no space"):
            run.take("idle/right//offset", "3")
        assert run.take("idle/right//rail_plus", "3", sure=True).results[0].value == 3.0


def test_a_skip_that_could_not_be_written_leaves_no_reason(tmp_path: Path) -> None:
    with Run.start(plan(), tmp_path, Clock()) as run:
        play(run, until=LEVEL)
        with full_disk(run), pytest.raises(JournalError, match="no space"):
            run.skip(LEVEL, "no probe")
        assert run.skip(LEVEL, "no time").line.remark == "no time"
        assert run.line(LEVEL).remark == "no time"
