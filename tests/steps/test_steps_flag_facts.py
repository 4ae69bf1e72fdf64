"""What flags are told beside the results: claims, loads, supply, and how a scale was used."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stepwise.bench import Claim, Load
from stepwise.journal import Recorded
from stepwise.judge import Findings
from stepwise.judge.flags import find_flags
from stepwise.quantities import Answer, Expected, Form, Understood, parse_entry
from stepwise.run.awaited import awaited_keys
from stepwise.steps import KINDS, ClipFields, Scene, SweepFields, Workings, flag_facts
from stepwise.steps.scale_use import scale_use
from tests.steps.conftest import AC, Work

CLIP = ClipFields(
    id="clip", title="Clip", repeat=("channel", "load"), also=("level_at_ten_percent",)
)
LEVEL = "clip/left/4 ohm/level"


def test_claims_are_named_by_their_load(scene: Scene) -> None:
    facts = flag_facts(scene)
    assert facts["claimed_power_4"] == 60.0
    assert facts["claimed_distortion_4"] == 10.0
    assert facts["claimed_power_8"] == 40.0
    assert "claimed_power_any" not in facts


def test_a_claim_without_load_or_distortion_says_so(scene: Scene) -> None:
    bare = replace(scene, unit=replace(scene.unit, claims=(Claim(60.0),)))
    facts = flag_facts(bare)
    assert facts["claimed_power_any"] == 60.0
    assert not any(name.startswith("claimed_distortion") for name in facts)


def test_ratings_of_loads_and_transformer_are_there(scene: Scene) -> None:
    loads = (Load(8.2, 8.2, rating=50.0),)
    facts = flag_facts(replace(scene, bench=replace(scene.bench, loads=loads)))
    assert facts["load_rating_8_2"] == 50.0
    assert facts["transformer_rating"] == 160.0
    assert facts["reservoir_rating"] == 50.0


def test_a_sweep_of_the_bench_alone_is_marked(scene: Scene) -> None:
    steps = [
        SweepFields(id="flatness", title="F", points=("10 Hz",), of_bench=True),
        SweepFields(id="sweep", title="S", points=("10 Hz",)),
    ]
    facts = flag_facts(scene, steps)
    assert "of_bench/flatness" in facts
    assert "of_bench/sweep" not in facts


def read(text: str) -> Understood:
    expected = Expected(Answer.QUANTITY, "V", Form.RMS, ranges=AC.ranges)
    entry = parse_entry(text, expected)
    assert isinstance(entry, Understood), entry
    return entry


@pytest.mark.parametrize(
    ("typed", "deflection", "better"),
    [
        ("2.0 on 3 x10", 2.0 / 3.0, None),
        ("0.5 on 3", 0.5 / 3.0, 1.0),
        ("0.95 on 3", 0.95 / 3.0, None),
        ("2.0 on 10", 0.2, 3.0),
        ("0.5 on 1", 0.5, None),
        ("8", None, None),
        ("20", 2.0, None),
        ("70 Vpp", 70.0 / 8.0**0.5 / 10.0, None),
        ("20 Vpp", None, None),
        ("2.0 Vpp on 3 x10", 2.0 / 3.0, None),
        ("2.0 x10", None, None),
    ],
)
def test_the_use_of_a_scale_is_told_where_its_range_was(
    typed: str, deflection: float | None, better: float | None
) -> None:
    # 0.95 on 3 would stand at 95 % of the 1 V range: nobody goes down to an end stop.
    used, lower = scale_use(read(typed), AC)
    assert used == (pytest.approx(deflection) if deflection is not None else None)
    assert lower == better


def answers(*keys: str) -> dict[str, Recorded]:
    return {
        key: Recorded(place, "", key, "1", "reading", {}) for place, key in enumerate(keys, start=1)
    }


def test_what_the_pass_in_hand_still_asks_is_awaited(scene: Scene) -> None:
    prompts = Workings([CLIP], KINDS, scene).prompts
    assert [prompt.key for prompt in prompts][:2] == [
        "clip/left/8 ohm/level",
        "clip/left/8 ohm/level_at_ten_percent",
    ]
    first = "clip/left/8 ohm"
    assert awaited_keys(prompts, answers(f"{first}/level")) == {f"{first}/level_at_ten_percent"}
    left = awaited_keys(prompts, answers(f"{first}/level", f"{first}/level_at_ten_percent"))
    assert left == {LEVEL, f"{LEVEL}_at_ten_percent"}
    assert awaited_keys(prompts, answers(*(prompt.key for prompt in prompts))) == frozenset()


def test_a_claim_at_ten_percent_is_not_called_missed_before_it_was_read(
    scene: Scene, work: Work
) -> None:
    # 13 V into 4 ohm is 42 W clean, 54 W at 10 % by the clipped sine: 60 W are claimed at 10 %.
    results = work([CLIP], {LEVEL: "1.29 on 3 x10"})
    facts = flag_facts(scene)
    waiting = Findings(results, facts, awaited=frozenset({f"{LEVEL}_at_ten_percent"}))
    assert find_flags(waiting) == ()
    both = work([CLIP], {LEVEL: "1.29 on 3 x10", f"{LEVEL}_at_ten_percent": "1.36 on 3 x10"})
    assert [flag.name for flag in find_flags(Findings(both, facts))] == ["claim-not-met"]
    enough = work([CLIP], {LEVEL: "1.46 on 3 x10", f"{LEVEL}_at_ten_percent": "1.66 on 3 x10"})
    assert find_flags(Findings(enough, facts)) == ()
