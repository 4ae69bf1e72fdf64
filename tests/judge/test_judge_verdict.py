"""Verdicts against JCGM 106 and the worked decision checks."""

from __future__ import annotations

import pytest

from stepwise.judge import Limit, LimitFields, Verdict, check_limit, judge, overall, resolve_limit
from stepwise.judge.verdict import conformance_probability
from stepwise.quantities import Uncertain

scipy_stats = pytest.importorskip("scipy.stats")


def value(estimate: float, standard: float) -> Uncertain:
    return Uncertain(estimate, {"all": standard})


AT_LEAST_50 = Limit(50.0, None, "W", "at least 50 W")


# JCGM 106:2012, 7.3: Table 1, z against conformance probability (values computed).
@pytest.mark.parametrize(
    ("z", "probability"),
    [(0.841621, 0.80), (1.03643, 0.85), (1.28155, 0.90), (1.64485, 0.95), (2.32635, 0.99)],
)
def test_one_sided_probability_follows_the_normal_table(z: float, probability: float) -> None:
    got = conformance_probability(value(-z, 1.0), Limit(None, 0.0, "V", ""))
    assert got == pytest.approx(probability, abs=1e-5)


# JCGM 106:2012, clause 7, breakdown voltage example (from memory, less sure): published 0.92.
def test_the_breakdown_voltage_example() -> None:
    got = conformance_probability(value(-5.47, 0.05), Limit(None, -5.40, "V", ""))
    assert got == pytest.approx(0.919243, abs=1e-6)


@pytest.mark.parametrize(
    ("watts", "probability", "verdict"),
    [
        (52.0, 0.998954, Verdict.IN_SPEC),
        (51.2, 0.967565, Verdict.IN_SPEC),
        (50.4, 0.730850, Verdict.TOO_CLOSE),
        (49.6, 0.269150, Verdict.TOO_CLOSE),
        (48.0, None, Verdict.OUT_OF_SPEC),
    ],
)
def test_the_verdict_follows_the_probability(
    watts: float, probability: float | None, verdict: Verdict
) -> None:
    judgement = judge(value(watts, 0.65), AT_LEAST_50)
    assert judgement.verdict is verdict
    if probability is not None:
        assert judgement.probability == pytest.approx(probability, abs=1e-6)


def test_a_two_sided_limit() -> None:
    limit = Limit(-0.5, 0.5, "dB", "")
    assert conformance_probability(value(0.30, 0.12), limit) == pytest.approx(0.952210, abs=1e-6)


@pytest.mark.parametrize("z", [-9.0, -3.0, 0.0, 0.7, 8.0])
def test_both_tails_agree_with_scipy(z: float) -> None:
    got = conformance_probability(value(z, 1.0), Limit(None, 0.0, "V", ""))
    assert got == pytest.approx(scipy_stats.norm.cdf(-z), rel=1e-12)


def test_an_exact_value_is_inside_or_outside() -> None:
    assert judge(Uncertain(50.0), AT_LEAST_50).probability == 1.0
    assert judge(Uncertain(49.999), AT_LEAST_50).probability == 0.0


def test_without_a_limit_a_value_is_noted() -> None:
    assert judge(value(1.0, 1.0), None).verdict is Verdict.NOTED


def test_the_worst_verdict_is_the_overall_one() -> None:
    assert overall([Verdict.IN_SPEC, Verdict.TOO_CLOSE, Verdict.NOTED]) is Verdict.TOO_CLOSE
    assert overall([Verdict.SKIPPED]) is Verdict.NOTED


def test_a_limit_may_be_a_share_of_a_name() -> None:
    limit = resolve_limit(
        LimitFields(max="90 % of reservoir_rating"), "V", {"reservoir_rating": 50.0}.get
    )
    assert limit is not None
    assert limit.high == pytest.approx(45.0)
    assert limit.text == "at most 45 V"


def test_a_limit_on_an_unknown_claim_is_no_limit() -> None:
    assert resolve_limit(LimitFields(min="claimed_power"), "W", {}.get) is None


def test_a_target_is_a_band_and_may_be_in_per_cent() -> None:
    limit = resolve_limit(LimitFields(target="100 V", within="5 %"), "V", {}.get)
    assert limit is not None
    assert (limit.low, limit.high) == (95.0, 105.0)


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        (LimitFields(max="claimd_power"), "max", "claimed_power"),
        (LimitFields(max="3 ohm"), "max", "ohm"),
        (LimitFields(target="3 W"), "target", "belong together"),
        (LimitFields(), "limit", "empty"),
        (LimitFields(min="much"), "min", "much"),
        (LimitFields(min="-"), "min", "-"),
        # nothing could ever be inside of these
        (LimitFields(min="5 W", max="3 W"), "min", "swap"),
        (
            LimitFields(min="110 % of claimed_power", max="90 % of claimed_power"),
            "min",
            "swap",
        ),
        (LimitFields(target="5 W", within="-1 W"), "within", "no room"),
        (LimitFields(target="5 W", within="0 W"), "within", "no room"),
        (LimitFields(target="0 W", within="5 %"), "within", "share of zero"),
    ],
)
def test_a_wrong_limit_is_told_before_anything_starts(
    fields: LimitFields, field: str, words: str
) -> None:
    found = check_limit(fields, "W", {"claimed_power": "W"})
    assert found
    assert found[0][0] == field
    assert words in " ".join(found[0])


@pytest.mark.parametrize(
    ("low", "high", "estimate", "position"),
    [
        (0.0, 10.0, 2.5, 0.25),
        (None, 10.0, 5.0, 0.5),
        (None, 10.0, 12.0, 1.2),
        (10.0, None, 10.0, 0.0),
        (10.0, None, 20.0, 1.0),
        (10.0, None, 8.0, -0.2),
        (None, -60.0, -75.0, 0.75),
        (None, -60.0, -45.0, 1.25),
        (-3.0, None, -1.5, 0.5),
        (-3.0, None, -6.0, -1.0),
        (None, 0.0, -1.0, 0.5),
        (None, 0.0, 1.0, 2.0),
        (0.0, None, 1.0, 0.5),
        (0.0, None, -1.0, -1.0),
    ],
)
def test_a_position_shows_where_in_the_limit(
    low: float | None, high: float | None, estimate: float, position: float
) -> None:
    assert Limit(low, high, "V", "").position(estimate) == pytest.approx(position)
