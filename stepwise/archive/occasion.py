"""What two occasions do not share: the level set by eye, and where the mains stood.

One run says what it found at the level that the person set, on the mains as it was. Another time
the same person stops a little sooner or later before the tops flatten, the mains stands a little
higher or lower, and power and rails go with both. No meter is at fault, so no reading carries
this; a difference has to. Results that hold volts of two passes of one run against one another,
such as sag, carry the mains of both already, and get none here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from stepwise.bench import MAINS_WANDER, follows_mains
from stepwise.quantities import Source, rectangular, within_limits

if TYPE_CHECKING:
    from stepwise.judge import Result
    from stepwise.run import Run

_BACKED_OFF = 0.02 / math.sqrt(12.0)
"""Standard deviation of a level that is backed off until the tops look round: people stop up to
2 % below clipping, share of the level [1]; common practice, no source."""
_TEN_PERCENT = 0.013 / math.sqrt(3.0)
"""The same for a level at which the distortion is taken to be 10 %: the eye misses that by up
to 1.5 points of distortion, 1.3 % of the level; common practice, no source."""
_DECIBELS = 20.0 / math.log(10.0)
ALLOWANCE = (
    "Differences also allow for a level that is set by eye anew, up to 2 % below clipping, and "
    "for 1 % of mains between two passes"
)
"""What a difference bears beside the meters, for people."""

_CLEAN: Mapping[str, float] = MappingProxyType(
    {
        "level": 1.0, "power": 2.0, "claim_ratio": 2.0, "ten_percent_ratio": -2.0,
        "peak_current": 1.0, "supply_current": 1.0, "supply_power": 1.0, "transformer_load": 1.0,
        "efficiency": 1.0, "dissipation": -1.0, "sag": 1.0, "regulation": 1.0,
    }
)  # fmt: skip
"""Result -> power of the set level that it follows: watts with its square, sag with the
current. The loss at clipping falls about as the level rises, because the output takes more of
what the rails give."""
_CLIPPED: Mapping[str, float] = MappingProxyType(
    {"level_at_ten_percent": 1.0, "power_at_ten_percent": 2.0, "ten_percent_ratio": 2.0}
)
_FED: Mapping[str, float] = MappingProxyType(
    {
        "rail_plus": 1.0, "rail_minus": 1.0, "rail_minus_height": 1.0, "rail_to_rail": 1.0,
        "secondary_volts": 1.0, "secondary_volts_2": 1.0, "idle_power": 1.0,
        "level": 1.0, "power": 2.0, "claim_ratio": 2.0, "level_at_ten_percent": 1.0,
        "power_at_ten_percent": 2.0, "peak_current": 1.0, "supply_current": 1.0,
        "supply_power": 2.0, "transformer_load": 2.0, "dissipation": 2.0,
        "worst_dissipation": 2.0, "ceiling": 2.0, "headroom_loss": 1.0,
    }
)  # fmt: skip
"""Result -> power of the mains that it follows, since clipping follows the rails."""
_LEVELS: Mapping[str, float] = MappingProxyType(
    {"signal_to_noise": 1.0, "channel_balance": math.sqrt(2.0)}
)
"""In decibels, with how many levels count: two channels are set one after the other."""
_MARGINS = frozenset({"reservoir_margin", "stage_margin"})
"""Per cent that a rail leaves of a rating."""


def occasion_terms(result: Result, run: Run) -> Iterator[tuple[Source, float]]:
    """Terms of uncertainty, as `Uncertain` has them, for one result of one run.

    Args:
        result: Of the run.
        run: To see which kind of step it belongs to, and what feeds the unit.
    """
    from stepwise.steps import ClipFields, ReadingsFields

    step = run.plan.procedure.step(result.step)
    if not isinstance(step, ClipFields | ReadingsFields):
        return
    place = f"{result.step}/{result.channel}/{result.load}"
    if isinstance(step, ClipFields):
        for what, term in _set_by_eye(result, run):
            yield within_limits(f"{place} {what}"), term
    if follows_mains(run.plan.bench.supply):
        share = _of_mains(result)
        if share:
            yield within_limits(f"{place} mains"), share * rectangular(MAINS_WANDER)


def _set_by_eye(result: Result, run: Run) -> Iterator[tuple[str, float]]:
    name, value = result.name, result.value
    if name == "claim_ratio" and _is_clipped(result):
        yield "set at ten per cent", 2.0 * value * _TEN_PERCENT
    elif name in _CLEAN:
        yield "set before clipping", _CLEAN[name] * value * _BACKED_OFF
    if name in _CLIPPED:
        yield "set at ten per cent", _CLIPPED[name] * value * _TEN_PERCENT
    if name in _LEVELS:
        yield "set before clipping", _LEVELS[name] * _DECIBELS * _BACKED_OFF
    if name == "headroom_loss":
        yield "set before clipping", math.sqrt(2.0) * _level(result, run) * _BACKED_OFF


def _is_clipped(result: Result) -> bool:
    """Whether it rests on the level at ten per cent."""
    return any(key.endswith("level_at_ten_percent") for key in result.basis)


def _level(result: Result, run: Run) -> float:
    """The level [V] that was set in the result's pass; 0.0 where it is not known."""
    at = (result.step, result.channel, result.load)
    found = (
        each.value
        for each in run.results()
        if each.name == "level" and (each.step, each.channel, each.load) == at
    )
    return next(found, 0.0)


def _of_mains(result: Result) -> float:
    """How far the result follows the mains, in its unit for each share [1] of that."""
    name, value = result.name, result.value
    if name == "signal_to_noise":
        return _DECIBELS
    if name in _MARGINS:
        return value - 100.0
    return _FED.get(name, 0.0) * value
