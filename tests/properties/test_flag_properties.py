"""Flags hold whatever is typed: they never raise, and what they say can be printed."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stepwise.judge import Findings, Result, ToneSpan, judge
from stepwise.judge.flags import FLAGS, FlagFinder, find_flags
from stepwise.quantities import Uncertain
from tests.judge.flag_case import at_most
from tests.judge.test_judge_flags import CASES

SHAPES = sorted(
    {
        (result.name, result.unit, result.step, result.load, result.point)
        for case in CASES.values()
        for found in (case.seen, case.quiet)
        for result in found.results
    },
    key=repr,
)
"""Every kind of result that some flag looks at, as the worked examples have it."""

FIGURES = st.one_of(
    st.sampled_from([0.0, -0.0, 1e-12, -1e-12, 1.0, -1.0, 1e9, -1e9]),
    st.floats(-1e6, 1e6, allow_nan=False),
    st.floats(-1.0, 1.0, allow_nan=False),
)
FACTS = {name: value for case in CASES.values() for name, value in case.seen.facts.items()}

TOO_LONG = ToneSpan("clip", "left", "8 ohm", 60.0, 20.0, running=True)
AWAITED = frozenset(key for case in CASES.values() for key in case.quiet.awaited)


@st.composite
def any_result(draw: st.DrawFn) -> Result:
    name, unit, step, load, point = draw(st.sampled_from(SHAPES))
    channel = draw(st.sampled_from(["left", "right", None]))
    key = f"{step}/{channel or ''}/{load or ''}/{point or name}"
    spread = draw(st.sampled_from([0.0, 1e-9, 0.1, 1e3]))
    source = draw(st.sampled_from([key, "ac 3 range"]))
    measure = Uncertain(draw(FIGURES), {source: spread} if spread else {})
    limit = draw(st.sampled_from([None, at_most(1.0, unit)]))
    return Result(
        step, channel, load, point, name, measure, unit, name, judge(measure, limit),
        key=key, basis=(key,), deflection=draw(st.sampled_from([None, 0.0, 0.1, 1.0, 3.0])),
        better_range=draw(st.sampled_from([None, 1.0])),
    )  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(any_result(), max_size=25), st.sampled_from([{}, FACTS]))
def test_no_reading_makes_flags_raise(results: list[Result], facts: dict[str, float]) -> None:
    flags = find_flags(Findings(tuple(results), facts))
    assert len({flag.identity for flag in flags}) == len(flags)
    for flag in flags:
        assert flag.name in FLAGS
        assert flag.says
        assert all(each.value for each in flag.evidence)


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), st.lists(any_result(), min_size=4, max_size=25))
def test_what_is_found_along_the_way_is_what_is_found_at_once(
    data: st.DataObject, pool: list[Result]
) -> None:
    """A run looks again after each answer; whoever reads its journal looks once."""
    finder = FlagFinder()
    for _ in range(4):
        chosen = data.draw(st.lists(st.booleans(), min_size=len(pool), max_size=len(pool)))
        findings = Findings(
            tuple(result for result, is_in in zip(pool, chosen, strict=True) if is_in),
            data.draw(st.sampled_from([{}, FACTS])),
            data.draw(st.sampled_from([(), (TOO_LONG,)])),
            data.draw(st.sampled_from([frozenset(), AWAITED])),
        )
        assert finder.find(findings) == find_flags(findings)
