"""Faults: each changes the rig, none the honest readings, alone and in pairs."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from datetime import datetime, timedelta

import pytest
from by_hand import heat_watts

from stepwise.judge import Verdict
from stepwise.judge.flags import FLAGS
from stepwise.rehearsal import (
    FAULTS,
    SEVERITIES,
    RehearsalBench,
    Rig,
    UnknownFault,
    Whose,
    good_board,
    reveal,
    with_faults,
)
from stepwise.run import Run
from tests.benchmarks.detection_run import START, Memory, begun, fast_run, plan_of

ALL = list(FAULTS)
PLANS = {
    name: plan_of(name) for name in ("first-look", "thermal-soak", "bench-check", "quick-check")
}


def rehearsed(procedure: str, *faults: tuple[str, float], seed: int = 7) -> Run:
    """A run to its end, what was mistaken kept as typed."""
    made = PLANS[procedure]
    return fast_run(made, RehearsalBench(seed, made.unit, made.bench, faults))


@pytest.fixture(scope="module")
def sound() -> Mapping[str, str]:
    """What is typed where nothing is wrong."""
    return typed_lines(rehearsed("first-look"))


def typed_lines(run: Run) -> Mapping[str, str]:
    return {line.key: line.typed for line in run.sheet()}


def test_there_are_enough_of_every_sort() -> None:
    assert len(FAULTS) >= 24
    for whose in Whose:
        assert sum(fault.whose is whose for fault in FAULTS.values()) >= 4
    assert all("\n" not in fault.summary and len(fault.summary) < 100 for fault in FAULTS.values())
    assert all(fault.flags for fault in FAULTS.values())


SLIPS = frozenset(
    {"peak-to-peak", "peak", "range", "multiplier", "kilo", "sign", "decibels-for-volts",
     "out-of-step", "volts-for-decibels"}
)  # fmt: skip


def test_every_flag_that_a_fault_names_is_one() -> None:
    for fault in FAULTS.values():
        known = FLAGS.keys() | SLIPS if fault.whose is Whose.PERSON else FLAGS.keys()
        assert set(fault.flags) <= known, fault.name


@pytest.mark.parametrize("name", ALL)
def test_a_fault_changes_the_rig_and_without_severity_nothing(name: str) -> None:
    rig = Rig(good_board(2))
    assert with_faults(rig, [(name, 0.0)]) == rig
    for severity in SEVERITIES.values():
        assert with_faults(rig, [(name, severity)]) != rig


@pytest.mark.parametrize("name", ALL)
def test_every_fault_can_be_rehearsed_mild_and_severe(name: str) -> None:
    procedure = FAULTS[name].procedure
    procedure = "quick-check" if procedure == "first-look" else procedure
    for severity in SEVERITIES.values():
        run = rehearsed(procedure, (name, severity))
        assert run.review().unanswered == 0
        # What is not dead in the end leaves the run open; nothing else does.
        assert run.is_complete() is not ("reservoirs-live" in {flag.name for flag in run.flags()})


def test_pairs_of_faults_give_a_rig_that_can_be_read() -> None:
    made = PLANS["quick-check"]
    pairs = list(itertools.combinations(ALL, 2))[::5]
    for seed, pair in enumerate(pairs):
        bench = RehearsalBench(seed, made.unit, made.bench, [(name, 1.0) for name in pair])
        for channel in bench.board.channels:
            for load in ("8 ohm", "4 ohm"):
                ohms = bench.instruments.load_ohms(load)
                assert ohms is not None
                working = bench.board.stage(channel.name, ohms).clean()
                assert 0.0 <= working.rms_volts < 30.0
                assert heat_watts(working) > 0.0


@pytest.mark.parametrize("pair", [("weak-rail", "current-limit"), ("dc-offset", "slew-limited"),
                                  ("swapped-load", "misread-pointer")])  # fmt: skip
def test_a_pair_shows_what_each_shows(pair: tuple[str, str], sound: Mapping[str, str]) -> None:
    both = typed_lines(rehearsed("first-look", *((name, 1.0) for name in pair)))
    changed = {key for key, typed in both.items() if typed != sound[key]}
    for name in pair:
        alone = typed_lines(rehearsed("first-look", (name, 1.0)))
        assert changed & {key for key in alone if alone[key] != sound[key]}


@pytest.fixture(scope="module")
def sound_run() -> Run:
    return rehearsed("first-look")


@pytest.mark.parametrize("name", [f.name for f in FAULTS.values() if f.whose is Whose.PERSON])
def test_a_mistake_is_made_once_and_not_when_it_is_read_again(name: str, sound_run: Run) -> None:
    made = PLANS["first-look"]
    errs, honest = (
        RehearsalBench(7, made.unit, made.bench, faults) for faults in ([(name, 1.0)], [])
    )
    differing = []
    for prompt in sound_run.prompts:
        card = sound_run.card(prompt.key)
        right = honest.answer(prompt, card)
        if errs.answer(prompt, card) != right:
            differing.append(prompt.key)
            assert errs.answer(prompt, card) == right
    assert differing == list(errs.person.made)
    assert len(differing) == 1


def test_who_errs_is_asked_and_looks_again(sound: Mapping[str, str]) -> None:
    run = rehearsed("first-look", ("peak-to-peak-for-rms", 1.0))
    assert [doubt.slip for doubt in run.state.doubts] == ["peak-to-peak"]
    assert typed_lines(run) == sound


def test_the_panel_shows_the_instrument_and_not_the_mistake() -> None:
    made = PLANS["first-look"]
    misreads, honest = (
        RehearsalBench(3, made.unit, made.bench, faults)
        for faults in ([("peak-to-peak-for-rms", 1.0)], [])
    )
    run = Run(made, Memory(begun(honest).events), lambda: START)
    for prompt in run.prompts:
        card = run.card(prompt.key)
        assert misreads.panel(prompt, card) == honest.panel(prompt, card)


@pytest.mark.parametrize("name", ["missing-output-inductor", "oscillates-with-capacitor"])
def test_ringing_into_a_capacitor_is_out_of_spec(name: str) -> None:
    line = rehearsed("first-look", (name, 1.0)).line(
        "square-capacitor/left//10 kHz/100 nF/ringing_cycles"
    )
    assert line is not None
    assert line.verdict is Verdict.OUT_OF_SPEC


def test_late_protection_is_seen_by_the_person() -> None:
    line = rehearsed("first-look", ("late-protection", 1.0)).line("protection///1")
    assert line is not None
    assert line.typed == "n"


def test_a_blown_fuse_leaves_nothing_to_be_read_but_its_offset() -> None:
    typed = typed_lines(rehearsed("quick-check", ("blown-rail-fuse", 1.0)))
    assert not typed["clip/right/8 ohm/level"]
    assert typed["clip/left/8 ohm/level"]
    assert float(typed["quiescent/right//offset"]) > 1000.0
    assert abs(float(typed["quiescent/right//rail_minus"])) < 1.0


def test_a_drifting_oscillator_is_back_where_it_began_only_in_a_sound_rehearsal() -> None:
    made = PLANS["first-look"]
    for faults, is_back in (([], True), ([("drifting-reference", 1.0)], False)):
        run = fast_run(made, RehearsalBench(4, made.unit, made.bench, faults))
        typed = typed_lines(run)
        back = typed["sweep/left//reference"] == typed["sweep/left//reference_again"]
        assert back is is_back


def test_what_was_in_it_is_revealed_with_what_was_noticed() -> None:
    faults = [("dc-offset", 1.0), ("weak-rail", 0.5)]
    first, second = reveal(faults, ["dc-offset", "too-hot"])
    assert first.noticed == ("dc-offset",)
    assert first.outcome == "Noticed: dc-offset."
    assert second.noticed == ()
    assert second.says.startswith("weak-rail, mild: ")
    assert "one-rail-weak" in second.outcome


def test_simulated_time_keeps_the_tone_and_the_rest() -> None:
    made = PLANS["first-look"]
    bench = RehearsalBench(7, made.unit, made.bench)
    run = fast_run(made, bench)
    assert not {flag.name for flag in run.flags()} & {"tone-too-long", "rest-not-kept"}
    times = [
        datetime.fromisoformat(recorded.at)
        for answers in run.state.history.values()
        for recorded in answers
    ]
    assert times == sorted(times)
    assert timedelta(minutes=15) < times[-1] - times[0] < timedelta(minutes=90)


def test_unknown_faults_and_severities_are_refused() -> None:
    rig = Rig(good_board(1))
    with pytest.raises(UnknownFault, match="small-coupling-capacitor"):
        with_faults(rig, [("gremlins", 1.0)])
    with pytest.raises(ValueError, match="from 0 to 1"):
        with_faults(rig, [("dc-offset", 1.5)])
