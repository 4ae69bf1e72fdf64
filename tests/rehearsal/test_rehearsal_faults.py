"""Faults: each changes the rig, none the honest readings, alone and in pairs."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stepwise.judge import Verdict
from stepwise.procedure import procedures_folder
from stepwise.rehearsal import (
    FAULTS,
    SEVERITIES,
    RehearsalBench,
    Rig,
    UnknownFault,
    Whose,
    bench_text,
    good_board,
    reveal,
    unit_text,
    with_faults,
)
from stepwise.run import Plan, Run, plan_from_texts

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
ALL = list(FAULTS)


def plan(procedure: str) -> Plan:
    text = (procedures_folder() / f"{procedure}.toml").read_text(encoding="utf-8")
    return plan_from_texts(text, unit_text(), bench_text(), procedure)


PLANS = {name: plan(name) for name in ("first-look", "thermal-soak", "bench-check", "quick-check")}


def rehearsed(
    folder: Path, procedure: str, *faults: tuple[str, float], seed: int = 7
) -> tuple[Run, RehearsalBench]:
    """A run to its end, what was doubted kept as typed."""
    made = PLANS[procedure]
    bench = RehearsalBench(seed, made.unit, made.bench, faults)
    run = Run.start(made, folder, bench.clock(START))
    while (prompt := run.next_prompt()) is not None and run.blocked() is None:
        typed = bench.answer(prompt, run.card(prompt.key))
        if typed is None:
            run.skip(prompt.key, "nothing to be read")
            continue
        outcome = run.take(prompt.key, typed, sure=True)
        assert outcome.line is not None, (prompt.key, typed, outcome.message)
    return run, bench


def typed_lines(run: Run) -> Mapping[str, str]:
    return {line.key: line.typed for line in run.sheet()}


def test_there_are_enough_of_every_sort() -> None:
    assert len(FAULTS) >= 24
    for whose in Whose:
        assert sum(fault.whose is whose for fault in FAULTS.values()) >= 4
    assert all("\n" not in fault.summary and len(fault.summary) < 100 for fault in FAULTS.values())
    assert all(fault.flags for fault in FAULTS.values())


@pytest.mark.parametrize("name", ALL)
def test_a_fault_changes_the_rig_and_without_severity_nothing(name: str) -> None:
    rig = Rig(good_board(2))
    assert with_faults(rig, [(name, 0.0)]) == rig
    for severity in SEVERITIES.values():
        assert with_faults(rig, [(name, severity)]) != rig


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("severity", SEVERITIES.values(), ids=SEVERITIES)
def test_every_fault_can_be_rehearsed(tmp_path: Path, name: str, severity: float) -> None:
    procedure = FAULTS[name].procedure
    procedure = "quick-check" if procedure == "first-look" else procedure
    with rehearsed(tmp_path, procedure, (name, severity))[0] as run:
        assert run.is_complete()


def test_every_pair_of_faults_gives_a_rig_that_can_be_read() -> None:
    made = PLANS["quick-check"]
    for seed, pair in enumerate(itertools.combinations(ALL, 2)):
        bench = RehearsalBench(seed, made.unit, made.bench, [(name, 1.0) for name in pair])
        for channel in bench.board.channels:
            for load in ("8 ohm", "4 ohm"):
                ohms = bench.instruments.load_ohms(load)
                assert ohms is not None
                working = bench.board.stage(channel.name, ohms).clean()
                assert 0.0 <= working.rms_volts < 30.0
                assert working.heat_watts > 0.0


@pytest.mark.parametrize("pair", [("weak-rail", "current-limit"), ("dc-offset", "slew-limited"),
                                  ("swapped-load", "misread-pointer")])  # fmt: skip
def test_a_pair_shows_what_each_shows(tmp_path: Path, pair: tuple[str, str]) -> None:
    both = rehearsed(tmp_path, "first-look", *((name, 1.0) for name in pair))[0]
    sound = typed_lines(rehearsed(tmp_path, "first-look")[0])
    with both:
        changed = {key for key, typed in typed_lines(both).items() if typed != sound[key]}
        for name in pair:
            alone = typed_lines(rehearsed(tmp_path, "first-look", (name, 1.0))[0])
            assert changed & {key for key in alone if alone[key] != sound[key]}


def test_a_persons_mistake_is_made_once_and_not_when_it_is_read_again(tmp_path: Path) -> None:
    for name in (fault.name for fault in FAULTS.values() if fault.whose is Whose.PERSON):
        sound = typed_lines(rehearsed(tmp_path, "first-look")[0])
        run, bench = rehearsed(tmp_path, "first-look", (name, 1.0))
        with run:
            differing = [key for key, typed in typed_lines(run).items() if typed != sound[key]]
            # A wrong clean level also leads to a sweep at another level.
            key, *others = differing
            assert [key] == list(bench.person.made), name
            assert all(other.startswith("sweep/") for other in others), name
            again = bench.answer(run.prompt(key), run.card(key))
            assert again == sound[key], name


def test_the_panel_shows_the_instrument_and_not_the_mistake(tmp_path: Path) -> None:
    made = PLANS["first-look"]
    misreads, sound = (
        RehearsalBench(3, made.unit, made.bench, faults)
        for faults in ([("peak-to-peak-for-rms", 1.0)], [])
    )
    with Run.start(made, tmp_path, lambda: START) as run:
        for prompt in run.prompts:
            card = run.card(prompt.key)
            assert misreads.panel(prompt, card) == sound.panel(prompt, card)


@pytest.mark.parametrize(
    ("name", "flag"),
    [
        ("small-coupling-capacitor", "early-roll-off-low"),
        ("large-feedback-capacitor", "early-roll-off-high"),
        ("harmful-offset", "dc-offset"),
        ("weak-transformer", "claim-not-met"),
        ("stopped-fan", "too-hot"),
        ("high-idle-current", "too-hot"),
    ],
)
def test_harm_is_flagged(tmp_path: Path, name: str, flag: str) -> None:
    with rehearsed(tmp_path, FAULTS[name].procedure, (name, 1.0))[0] as run:
        assert flag in {each.name for each in run.flags()}


@pytest.mark.parametrize("name", ["missing-output-inductor", "oscillates-with-capacitor"])
def test_ringing_into_a_capacitor_is_out_of_spec(tmp_path: Path, name: str) -> None:
    with rehearsed(tmp_path, "first-look", (name, 1.0))[0] as run:
        line = run.line("square-capacitor/left//10 kHz/100 nF/ringing_cycles")
        assert line is not None
        assert line.verdict is Verdict.OUT_OF_SPEC


def test_late_protection_is_seen_by_the_person(tmp_path: Path) -> None:
    with rehearsed(tmp_path, "first-look", ("late-protection", 1.0))[0] as run:
        lines = {line.key: line for line in run.sheet() if line.step == "protection"}
        assert [line.typed for line in lines.values()][:1] == ["n"]


def test_a_blown_fuse_leaves_nothing_to_be_read_but_its_offset(tmp_path: Path) -> None:
    made = PLANS["quick-check"]
    bench = RehearsalBench(1, made.unit, made.bench, [("blown-rail-fuse", 1.0)])
    with Run.start(made, tmp_path, lambda: START) as run:
        answers = {p.key: bench.answer(p, run.card(p.key)) for p in run.prompts}
    assert answers["clip/right/8 ohm/level"] is None
    assert answers["clip/left/8 ohm/level"] is not None
    assert float(answers["quiescent/right//offset"] or 0.0) > 1000.0
    assert abs(float(answers["quiescent/right//rail_minus"] or 99.0)) < 1.0


def test_what_was_in_it_is_revealed_with_what_was_noticed() -> None:
    faults = [("dc-offset", 1.0), ("weak-rail", 0.35)]
    first, second = reveal(faults, ["dc-offset", "too-hot"])
    assert first.noticed == ("dc-offset",)
    assert first.outcome == "Noticed: dc-offset."
    assert second.noticed == ()
    assert second.says.startswith("weak-rail, mild: ")
    assert "one-rail-weak" in second.outcome


def test_simulated_time_keeps_the_tone_and_the_rest(tmp_path: Path) -> None:
    run, bench = rehearsed(tmp_path, "first-look")
    with run:
        assert not {flag.name for flag in run.flags()} & {"tone-too-long", "rest-not-kept"}
        times = [datetime.fromisoformat(event.at) for event in run._journal.events]
        assert times == sorted(times)
        assert timedelta(minutes=15) < times[-1] - times[0] < timedelta(minutes=90)
        assert bench.history.warmth.seconds > 900.0


def test_unknown_faults_and_severities_are_refused() -> None:
    rig = Rig(good_board(1))
    with pytest.raises(UnknownFault, match="small-coupling-capacitor"):
        with_faults(rig, [("gremlins", 1.0)])
    with pytest.raises(ValueError, match="from 0 to 1"):
        with_faults(rig, [("dc-offset", 1.5)])
