"""What a level that was set by eye adds when two runs are compared.

One run says what it found at the level that the person set. Another time the same person stops
a little sooner or later before the tops flatten, and the power, the currents and the sag go
with it. No meter is at fault, so no reading carries this; a difference has to.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from stepwise.judge import Result
from stepwise.quantities import Source, within_limits
from stepwise.run import Run
from stepwise.steps import ClipFields

_BACKED_OFF = 0.02 / math.sqrt(12.0)
"""Standard deviation of a level that is backed off until the tops look round: people stop up to
2 % below clipping, share of the level [1]; common practice, no source."""
_TEN_PERCENT = 0.013 / math.sqrt(3.0)
"""The same for a level at which the distortion is taken to be 10 %: the eye misses that by up
to 1.5 points of distortion, 1.3 % of the level; common practice, no source."""
_DECIBELS = 20.0 / math.log(10.0)

_CLEAN: Mapping[str, float] = MappingProxyType(
    {
        "level": 1.0,
        "power": 2.0,
        "claim_ratio": 2.0,
        "ten_percent_ratio": -2.0,
        "peak_current": 1.0,
        "supply_current": 1.0,
        "supply_power": 1.0,
        "transformer_load": 1.0,
        "efficiency": 1.0,
        "dissipation": -1.0,
        "sag": 1.0,
        "regulation": 1.0,
    }
)
"""Result -> power of the set level that it follows: watts with its square, sag with the
current. The loss at clipping falls about as the level rises, because the output takes more of
what the rails give."""
_AT_TEN_PERCENT: Mapping[str, float] = MappingProxyType(
    {"level_at_ten_percent": 1.0, "power_at_ten_percent": 2.0, "ten_percent_ratio": 2.0}
)
_LEVELS = frozenset({"channel_balance", "signal_to_noise"})
"""In decibels: they follow the level itself."""


def setting_terms(result: Result, run: Run) -> Iterator[tuple[Source, float]]:
    """Terms of uncertainty, as `Uncertain` has them, for one result of one run.

    Args:
        result: Of the run.
        run: To see whether it belongs to a level that was set by eye.
    """
    if not isinstance(run.plan.procedure.step(result.step), ClipFields):
        return
    clean, clipped = (
        within_limits(f"{result.step}/{result.channel}/{result.load} {what}")
        for what in ("set before clipping", "set at ten per cent")
    )
    name = result.name
    if name in _CLEAN and not _is_loud_claim(result):
        yield clean, _CLEAN[name] * result.value * _BACKED_OFF
    if name in _AT_TEN_PERCENT:
        yield clipped, _AT_TEN_PERCENT[name] * result.value * _TEN_PERCENT
    if name == "claim_ratio" and _is_loud_claim(result):
        yield clipped, 2.0 * result.value * _TEN_PERCENT
    if name in _LEVELS:
        # Two channels are set one after the other; noise is not set.
        settings = math.sqrt(2.0) if name == "channel_balance" else 1.0
        yield clean, settings * _DECIBELS * _BACKED_OFF
    if name == "headroom_loss":
        yield clean, math.sqrt(2.0) * _level(result, run) * _BACKED_OFF


def _is_loud_claim(result: Result) -> bool:
    """Whether a share of a claim was taken at ten per cent: it rests on that level then."""
    return result.name == "claim_ratio" and any(
        key.endswith("level_at_ten_percent") for key in result.basis
    )


def _level(result: Result, run: Run) -> float:
    """The level [V] that was set in the result's pass; 0.0 where it is not known."""
    at = (result.step, result.channel, result.load)
    found = (
        each.value
        for each in run.results()
        if each.name == "level" and (each.step, each.channel, each.load) == at
    )
    return next(found, 0.0)
