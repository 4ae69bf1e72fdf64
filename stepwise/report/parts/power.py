"""Power into each load against what is claimed, and what the supply does meanwhile."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from stepwise.judge import Result
from stepwise.quantities import format_uncertain, format_value, with_signs
from stepwise.report.content import Block, Figure, PowerBar, PowerGroup, PowerPlot, Prose, Section
from stepwise.report.tabulate import by_channel
from stepwise.report.words import joined
from stepwise.run import RunView
from stepwise.steps import ClipFields

_POWER_NAMES = frozenset(
    {
        "level",
        "power",
        "level_at_ten_percent",
        "power_at_ten_percent",
        "ten_percent_ratio",
        "claim_ratio",
        "channel_balance",
        "signal_to_noise",
    }
)
_CLEAN_BY_EYE = (
    "Clean power is that of the level that was set by eye, which stops up to 2 % below clipping: "
    "the board may give up to 4 % more."
)
_LOUD_BY_EYE = " Of 10 % of distortion the eye is off by up to 1.5 points, 2.6 % of that power."
_NOT_COUNTED = " No ± counts the eye; a comparison of two logs does."
"""What a ± leaves out; what the eye misses is common practice, no source."""


def powers(view: RunView) -> Iterator[Section]:
    """One section for each clip test that has a result."""
    for step in view.run.plan.procedure.steps:
        if isinstance(step, ClipFields):
            found = [each for each in view.run.results() if each.step == step.id]
            if found:
                yield Section(f"step-{step.id}", step.title, tuple(_blocks(view, found)))


def power_plot(view: RunView, found: Sequence[Result]) -> PowerPlot | None:
    """Clean power, and power at 10 %, by load and channel; None where there is none."""
    unit = view.run.plan.unit
    groups = []
    for load in view.run.plan.scene.loads():
        bars = tuple(_bars(found, load.label))
        if bars:
            claim = unit.claim_for(load.nominal)
            groups.append(
                PowerGroup(
                    with_signs(load.label),
                    None if claim is None else claim.power,
                    "" if claim is None else f"claimed {format_value(claim.power, 'W')}{claim.at}",
                    bars,
                )
            )
    return PowerPlot(tuple(groups)) if groups else None


def _bars(found: Sequence[Result], load: str) -> Iterator[PowerBar]:
    here = [each for each in found if each.load == load]
    loud = {each.channel: each for each in here if each.name == "power_at_ten_percent"}
    for each in here:
        if each.name == "power" and math.isfinite(each.measure.expanded_uncertainty):
            beside = loud.get(each.channel)
            yield PowerBar(
                each.channel or "", each.measure, beside.measure if beside is not None else None
            )


def _blocks(view: RunView, found: Sequence[Result]) -> Iterator[Block]:
    plot = power_plot(view, found)
    if plot is not None:
        yield Figure(plot, _caption(plot), _described(plot))
    order = view.run.plan.unit.channels
    for load, here in _by_load(view, found):
        into = f"into {with_signs(load)}" if load else "whatever the load"
        for table in (
            by_channel(f"Power {into}", [each for each in here if _is_power(each)], order),
            by_channel(
                f"The supply meanwhile, {into}", [e for e in here if not _is_power(e)], order
            ),
        ):
            if table is not None:
                yield table
    names = {each.name for each in found}
    if "power" in names:
        loud = _LOUD_BY_EYE if "power_at_ten_percent" in names else ""
        yield Prose(f"{_CLEAN_BY_EYE}{loud}{_NOT_COUNTED}")


def _is_power(result: Result) -> bool:
    """Whether it tells of the output; all else tells of the supply behind it."""
    return result.name in _POWER_NAMES


def _by_load(view: RunView, found: Sequence[Result]) -> Iterator[tuple[str | None, list[Result]]]:
    """Results load by load, kindest first, without their load: it stands over the table."""
    loads = (*(load.label for load in view.run.plan.scene.loads()), None)
    for load in loads:
        here = [replace(each, load=None) for each in found if each.load == load]
        if here:
            yield load, here


def _caption(plot: PowerPlot) -> str:
    parts = ["Power into each load. Filled: clean, just before the tops flatten"]
    if any(bar.loud for group in plot.groups for bar in group.bars):
        parts.append("; hollow: well flattened, about 10 % distortion")
    if any(group.claim is not None for group in plot.groups):
        parts.append("; upright stroke: what the seller claims")
    return f"{''.join(parts)}. Whiskers: expanded uncertainty (95 %)."


def _described(plot: PowerPlot) -> str:
    said = []
    for group in plot.groups:
        had = joined(
            [f"{bar.channel} {format_uncertain(bar.clean, 'W')}".strip() for bar in group.bars]
        )
        claim = f", {group.claimed}" if group.claimed else ""
        said.append(f"Clean power into {group.load}: {had}{claim}.")
    return " ".join(said)
