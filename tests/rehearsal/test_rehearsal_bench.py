"""The rehearsal bench through whole runs: every prompt answered, again alike, faults to be seen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stepwise.bench import Meter, MeterType, parse_accuracy
from stepwise.procedure import read_bench_text, read_unit_text
from stepwise.quantities import Answer, Expected, Form, Understood, parse_entry
from stepwise.rehearsal import (
    BENCH_FILE,
    UNIT_FILE,
    RehearsalBench,
    bench_text,
    unit_text,
)
from stepwise.run import Card, Run, Status, plan_from_texts
from stepwise.steps import Pass, Prompt
from tests.benchmarks.detection_run import fast_run, plan_of

PROCEDURES = Path(__file__).parents[2] / "procedures"
UNIT = read_unit_text(unit_text(), UNIT_FILE)
BENCH = read_bench_text(bench_text(), BENCH_FILE)


def a_run(folder: Path, procedure: str = "first-look") -> Run:
    text = (PROCEDURES / f"{procedure}.toml").read_text(encoding="utf-8")
    now = [datetime(2026, 3, 1, 9, 0, tzinfo=UTC)]

    def clock() -> datetime:
        now[0] += timedelta(seconds=1)
        return now[0]

    plan = plan_from_texts(text, unit_text(), bench_text(), procedure)
    return Run.start(plan, folder, clock, operator="QH")


def rehearse(run: Run, rehearsal: RehearsalBench) -> Iterator[tuple[Prompt, str | None]]:
    """Take the run to its end; whatever is answered must be understood and kept."""
    while (prompt := run.next_prompt()) is not None:
        typed = rehearsal.answer(prompt, run.card(prompt.key))
        yield prompt, typed
        if typed is None:
            assert run.skip(prompt.key, "not there").status is Status.SKIPPED
            continue
        outcome = run.take(prompt.key, typed)
        assert outcome.status in (Status.KEPT, Status.CONFIRMED), (typed, outcome.message)


@pytest.fixture(scope="module")
def cards(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Prompt, Card]]:
    """Every prompt of the first look with its card, nothing taken yet."""
    with a_run(tmp_path_factory.mktemp("cards")) as run:
        return {prompt.key: (prompt, run.card(prompt.key)) for prompt in run.prompts}


def prompt_for(point: str, kind: str = "readings", expected: Expected | None = None) -> Prompt:
    wanted = expected or Expected(Answer.QUANTITY, "V")
    return Prompt(of=Pass("step", "left"), kind=kind, point=point, ask=point, expected=wanted)


def card_for(prompt: Prompt) -> Card:
    return Card(prompt, "Title", "", "", (), prompt.settings, "", 1, 1, 1, 1, None, None)


@pytest.mark.parametrize(
    "procedure", ["first-look", "quick-check", "bench-check", "after-repair", "thermal-soak"]
)
def test_every_prompt_of_every_procedure_is_answered(tmp_path: Path, procedure: str) -> None:
    with a_run(tmp_path, procedure) as run:
        answers = list(rehearse(run, RehearsalBench(7, UNIT, BENCH)))
        assert run.is_complete()
        assert run.blocked() is None
        assert [prompt.key for prompt, typed in answers if typed is None] == []


def test_a_good_board_is_in_spec_and_draws_no_suspicion() -> None:
    run = fast_run(plan_of("first-look"), RehearsalBench(0, UNIT, BENCH))
    assert {flag.name for flag in run.flags()} <= {"rail-to-rail-shock", "meter-low-on-scale"}
    assert not any(line.verdict == "out of spec" for line in run.sheet())


Cards = dict[str, tuple[Prompt, Card]]


def test_one_seed_reads_alike_and_another_does_not(cards: Cards) -> None:
    first, again, other = (
        [bench.answer(*card) for card in cards.values()]
        for bench in (RehearsalBench(seed, UNIT, BENCH) for seed in (3, 3, 4))
    )
    assert first == again
    assert first != other


def test_the_order_of_asking_changes_heat_alone(cards: Cards) -> None:
    forward, backward = (RehearsalBench(5, UNIT, BENCH) for _ in range(2))
    first = {key: forward.answer(*card) for key, card in cards.items()}
    last = {key: backward.answer(*card) for key, card in reversed(cards.items())}
    differing = {key for key in first if first[key] != last[key]}
    assert differing
    assert all(key.startswith("heat/") for key in differing)


def test_asked_again_only_the_eye_differs(cards: Cards) -> None:
    card = cards["square/left//100 Hz/none/tilt"]
    rehearsal, again = (RehearsalBench(3, UNIT, BENCH) for _ in range(2))
    looks = [rehearsal.answer(*card) for _ in range(40)]
    assert len(set(looks)) in (2, 3)
    assert [again.answer(*card) for _ in range(40)] == looks


def test_the_panel_shows_what_would_be_typed(cards: Cards) -> None:
    looking, answering = (RehearsalBench(9, UNIT, BENCH) for _ in range(2))
    for key in ("quiescent/left//rail_plus", "clip/left/8 ohm/level", "sweep/left//20 Hz"):
        seen = looking.panel(*cards[key])
        assert looking.panel(*cards[key]) == seen
        typed = answering.answer(*cards[key])
        assert looking.answer(*cards[key]) == typed
        number = "0 dB" if typed == "flat" else (typed or "").split()[0]
        assert number in seen[0].to
    assert looking.panel(*cards["make-safe///1"]) == ()


def test_a_person_who_only_looks_warms_the_board_as_much(cards: Cards) -> None:
    looking, answering = (RehearsalBench(1, UNIT, BENCH) for _ in range(2))
    for prompt, card in cards.values():
        looking.panel(prompt, card)
        looking.panel(prompt, card)
        answering.answer(prompt, card)
    warm = looking.history.warmth
    assert warm == answering.history.warmth
    assert warm.rise["heatsink"] > 5.0


@pytest.mark.parametrize("name", ["no_such_reading", "rail_plus_left"])
def test_a_name_that_is_not_known_has_no_answer(name: str) -> None:
    prompt = prompt_for(name)
    assert RehearsalBench(1, UNIT, BENCH).answer(prompt, card_for(prompt)) is None
    assert RehearsalBench(1, UNIT, BENCH).panel(prompt, card_for(prompt)) == ()


def test_a_known_name_in_another_unit_has_no_answer() -> None:
    prompt = prompt_for("offset", expected=Expected(Answer.QUANTITY, "ohm"))
    assert RehearsalBench(1, UNIT, BENCH).answer(prompt, card_for(prompt)) is None


def test_a_place_whose_heat_is_not_followed_has_no_answer() -> None:
    prompt = prompt_for("window", "thermal", Expected(Answer.HEAT, "C"))
    assert RehearsalBench(1, UNIT, BENCH).answer(prompt, card_for(prompt)) is None


@pytest.mark.parametrize("feature", ["overshoot", "preshoot", "tilt", "fall_time"])
def test_all_that_a_picture_can_show_is_read(feature: str) -> None:
    shares = ("overshoot", "preshoot", "tilt")
    expected = Expected(Answer.SHARE, "%") if feature in shares else Expected(Answer.QUANTITY, "us")
    prompt = prompt_for(f"1 kHz/2.2 uF/{feature}", "square", expected)
    typed = RehearsalBench(1, UNIT, BENCH).answer(prompt, card_for(prompt))
    assert typed is not None
    assert isinstance(parse_entry(typed, expected), Understood)


def test_ringing_has_a_frequency_where_it_rings() -> None:
    expected = Expected(Answer.QUANTITY, "kHz")
    prompt = prompt_for("10 kHz/100 nF/ringing_frequency", "square", expected)
    sound = RehearsalBench(1, UNIT, BENCH)
    faulty = RehearsalBench(1, UNIT, BENCH, [("missing-output-inductor", 1.0)])
    assert sound.answer(prompt, card_for(prompt)) is None
    typed = faulty.answer(prompt, card_for(prompt))
    understood = parse_entry(typed or "", expected)
    assert isinstance(understood, Understood)
    assert 250e3 < understood.value < 350e3


def test_the_shipped_unit_and_bench_say_what_the_story_says() -> None:
    assert UNIT.name == "Teal"
    assert [claim.power for claim in UNIT.claims] == [60.0, 40.0]
    assert [load.label for load in BENCH.loads] == ["8 ohm", "4 ohm"]
    assert BENCH.supply.secondary == 24.0


def test_what_the_eye_leaves_of_the_power_is_what_the_report_says(cards: Cards) -> None:
    # A meter that hides nothing, so that what is left is the eye: as said under the plot of powers.
    fine = Meter(
        "ac", MeterType.DIGITAL, parse_accuracy("0.001 %"), "V", Form.RMS, counts=1_000_000
    )
    bench = replace(BENCH, meters=(fine, *(each for each in BENCH.meters if each.id != "ac")))
    clean, loud = [], []
    for seed in range(60):
        rehearsal = RehearsalBench(seed, UNIT, bench)
        for point, ratios in (("level", clean), ("level_at_ten_percent", loud)):
            prompt, card = cards[f"clip/left/8 ohm/{point}"]
            typed = rehearsal.answer(prompt, card)
            assert typed is not None
            entry = parse_entry(typed, prompt.expected)
            assert isinstance(entry, Understood)
            ohms = rehearsal.instruments.load_ohms("8 ohm")
            assert ohms is not None
            fed = rehearsal.board.on_mains(rehearsal.instruments.mains_ratio(prompt.of.key))
            stage = fed.stage("left", ohms)
            true = stage.clean() if point == "level" else stage.clipped(10.0)
            ratios.append((true.rms_volts / entry.value) ** 2)
    # Never above what the board can do, up to 4 % below it, and more than a meter of 0.5 % shows.
    assert min(clean) >= 1.0 - 1e-4
    assert 1.03 < max(clean) <= 1.042
    assert all(abs(each - 1.0) <= 0.027 for each in loud)
    assert max(abs(each - 1.0) for each in loud) > 0.015


def test_flattened_tops_are_not_read_off_a_graticule(
    cards: dict[str, tuple[Prompt, Card]],
) -> None:
    scope = BENCH.meter("scope")
    assert scope is not None
    meters = tuple(replace(scope, id="ac") if meter.id == "ac" else meter for meter in BENCH.meters)
    rehearsal = RehearsalBench(5, UNIT, replace(BENCH, meters=meters))
    prompt, card = cards["clip/left/8 ohm/level"]
    assert " div at " in (rehearsal.answer(prompt, card) or "")
    assert rehearsal.answer(*cards["clip/left/8 ohm/level_at_ten_percent"]) is None
