"""Which power a claim is held against, wherever a procedure writes the limit."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stepwise.bench import Claim
from stepwise.judge import LimitFields, Result, Verdict
from stepwise.quantities import Uncertain
from stepwise.steps import KINDS, ClipFields, Pass, Scene, claim_verdict
from stepwise.steps.clip import ClipLimits
from tests.steps.conftest import named, results_of

CLAIMED = LimitFields(min="claimed_power")
AT = Pass("clip", "left", "4 ohm")
EITHER = [
    ClipLimits(power=CLAIMED),
    ClipLimits(power_at_ten_percent=CLAIMED),
    ClipLimits(power=CLAIMED, power_at_ten_percent=CLAIMED),
]


def clip(limits: ClipLimits) -> ClipFields:
    return ClipFields(
        id="clip", title="C", repeat=("channel", "load"), also=("level_at_ten_percent",),
        limits=limits,
    )  # fmt: skip


def claimed(scene: Scene, claim: Claim) -> Scene:
    return replace(scene, unit=replace(scene.unit, claims=(claim,)))


def results(scene: Scene, limits: ClipLimits, claim: Claim, **typed: str) -> list[Result]:
    answers = {f"clip/left/4 ohm/{point}": text for point, text in typed.items()}
    return list(results_of(claimed(scene, claim), [clip(limits)], answers))


@pytest.mark.parametrize("limits", EITHER)
@pytest.mark.parametrize(
    ("distortion", "held", "free"),
    [
        (10.0, "power_at_ten_percent", "power"),
        (5.0, "power_at_ten_percent", "power"),
        (1.0, "power", "power_at_ten_percent"),
        (None, "power", "power_at_ten_percent"),
    ],
)
def test_the_limit_goes_to_the_result_that_the_claim_is_about(
    scene: Scene, limits: ClipLimits, distortion: float | None, held: str, free: str
) -> None:
    found = results(
        scene, limits, Claim(60.0, 4.0, distortion), level="14.7 V", level_at_ten_percent="17 V"
    )
    limit = named(found, held).judgement.limit
    assert limit is not None
    assert limit.low == 60.0
    at = "" if distortion is None else f", as claimed at {distortion:g} %"
    assert limit.text == f"at least 60 W{at}"
    assert named(found, free).judgement.verdict is Verdict.NOTED
    asked = {"power": "level"}.get(held, "level_at_ten_percent")
    step = KINDS["clip"].in_pass(clip(limits), AT, claimed(scene, Claim(60.0, 4.0, distortion)))
    assert KINDS["clip"].limit(step, AT, asked)[0] == CLAIMED


def test_a_limit_that_names_no_claim_stays_where_it_is(scene: Scene) -> None:
    limits = ClipLimits(power=LimitFields(min="50 W"), power_at_ten_percent=CLAIMED)
    found = results(
        scene, limits, Claim(60.0, 4.0, 1.0), level="14.7 V", level_at_ten_percent="17 V"
    )
    limit = named(found, "power").judgement.limit
    assert limit is not None
    assert limit.low == 50.0


def test_a_claim_at_ten_percent_is_not_judged_where_that_was_not_read(scene: Scene) -> None:
    limits = ClipLimits(power=CLAIMED, claim_ratio=LimitFields(min="100 %"))
    found = results(scene, limits, Claim(60.0, 4.0, 10.0), level="14.7 V")
    assert named(found, "power").judgement.verdict is Verdict.NOTED
    share = named(found, "claim_ratio")
    assert share.judgement.verdict is Verdict.NOTED
    assert "cannot be judged without the level at 10 %" in share.remark


def test_clean_power_that_reaches_it_meets_a_claim_at_ten_percent(scene: Scene) -> None:
    limits = ClipLimits(claim_ratio=LimitFields(min="100 %"))
    found = results(scene, limits, Claim(60.0, 4.0, 10.0), level="17.5 V")
    share = named(found, "claim_ratio")
    assert share.judgement.verdict is Verdict.IN_SPEC
    assert share.remark == ""


@pytest.mark.parametrize(
    ("watts", "verdict"),
    [(70.0, Verdict.IN_SPEC), (60.5, Verdict.TOO_CLOSE), (50.0, Verdict.OUT_OF_SPEC)],
)
def test_what_comes_of_a_claim(watts: float, verdict: Verdict) -> None:
    assert claim_verdict(Uncertain(watts, {"meter": 1.0}), Claim(60.0, 4.0, 10.0)) is verdict
