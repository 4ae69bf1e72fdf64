"""One thing said once: a flag that explains another stands in its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from stepwise.judge.flag import Flag

EXPLAINS: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        # Readings that cannot be true: what is worked out from them says nothing of the board.
        "swing-above-rails": frozenset(
            {
                "power-above-transformer",
                "more-volts-into-less",
                "transformer-overloaded",
                "load-over-rating",
                "channel-mismatch",
                "current-limited",
            }
        ),
        "power-above-transformer": frozenset(
            {"transformer-overloaded", "load-over-rating", "channel-mismatch"}
        ),
        "more-volts-into-less": frozenset(
            {"current-limited", "swing-lost", "claim-not-met", "channel-mismatch"}
        ),
        "level-above-gain": frozenset({"source-impedance-disagrees", "output-impedance-high"}),
        "source-impedance-disagrees": frozenset({"output-impedance-high"}),
        "rails-above-secondary": frozenset({"sag-wrong-sign"}),
        "sag-wrong-sign": frozenset({"one-rail-weak"}),
        "same-load-twice": frozenset(
            {"current-limited", "swing-lost", "claim-not-met", "channel-mismatch"}
        ),
        "one-rail-weak": frozenset(
            {
                "swing-lost",
                "supply-sag",
                "reservoir-weak",
                "rails-below-secondary",
                "channels-share-rails",
            }
        ),
        "transformer-limit": frozenset({"supply-sag", "transformer-overloaded"}),
        "reservoir-weak": frozenset({"supply-sag"}),
        "current-limited": frozenset({"swing-lost"}),
        "output-impedance-high": frozenset({"swing-lost"}),
        "reservoir-over-rating": frozenset({"reservoir-margin"}),
        "oscillation-at-idle": frozenset(
            {"idle-current-against-heat", "idle-currents-differ", "channel-hotter"}
        ),
        "too-hot": frozenset({"heat-to-come", "channel-hotter"}),
        "heat-to-come": frozenset({"channel-hotter"}),
        "rings-without-end": frozenset({"rings-with-capacitor"}),
        "claim-only-at-ten-percent": frozenset({"claim-not-met"}),
        "claim-only-at-one-load": frozenset({"claim-not-met", "claim-names-no-load"}),
        "claim-not-met": frozenset({"claim-names-no-load"}),
        "response-hump": frozenset({"roll-off-steep-high", "point-out-of-line"}),
        "response-notch": frozenset({"point-out-of-line"}),
        "overshoot-too-much": frozenset({"roll-off-steep-high"}),
        "gain-unlikely": frozenset({"channel-mismatch"}),
    }
)
"""Flag -> flags that it explains where both speak of the same channel and load."""


def absorbed(flags: Sequence[Flag]) -> list[Flag]:
    """The flags without those that another one explains."""
    return [flag for flag in flags if not any(_explains(other, flag) for other in flags)]


def _explains(cause: Flag, symptom: Flag) -> bool:
    return (
        symptom.name in EXPLAINS.get(cause.name, ())
        and _same(cause.channel, symptom.channel)
        and _same(cause.load, symptom.load)
    )


def _same(one: str | None, other: str | None) -> bool:
    """Whether two places meet: a flag without a channel or load speaks of all of them."""
    return one is None or other is None or one == other
