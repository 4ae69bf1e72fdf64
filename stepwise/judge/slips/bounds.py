"""How high a clean level can be where no rail was read: by the reservoirs, and by the claims."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.plausible import Plausible
from stepwise.quantities import format_value, require

_CLAIMED = "claimed_power_"
_OVER_CLAIM = 2.0
"""Clean volts over those of the claim, at most [1]: no seller leaves three quarters of the power
unsaid (common practice, no source)."""
_INTO_OTHER_LOAD = 1.3
"""How much more volts there may be into another load than the claimed one [1], where the supply
gives way under that (common practice, no source)."""


def without_rails(asked: Asked) -> Iterator[Plausible]:
    """What a clean level is not above, whatever the rails may be."""
    yield from _reservoirs(asked)
    yield from _claims(asked)


def _reservoirs(asked: Asked) -> Iterator[Plausible]:
    """No rail stands above what its reservoirs are rated for.

    Source:
        Peak of a sine below the rail: U <= U_rail / sqrt 2.
    """
    rating = asked.fact("reservoir_rating")
    if not rating:
        return
    share = asked.fact("rail_share") or 1.0
    top = share * rating / math.sqrt(2.0)
    words = (
        f"the {format_value(top, 'V', digits=2)} at most of a sine"
        f" behind reservoirs rated {format_value(rating, 'V')}"
    )
    yield Plausible(top, (0.25 * top, 0.95 * top), (0.0, 1.02 * top), words, is_bound=True)


def _claims(asked: Asked) -> Iterator[Plausible]:
    """Nobody claims a small share of what a unit gives: the claim with the most volts counts."""
    here = require(asked.load, "ohm") if asked.load else None
    found = []
    for name, power in asked.findings.facts.items():
        if not name.startswith(_CLAIMED) or power <= 0.0:
            continue
        end = name.removeprefix(_CLAIMED)
        ohms = here if end == "any" else float(end.replace("_", "."))
        if ohms:
            found.append((math.sqrt(power * ohms), power, ohms))
    if not found:
        return
    volts, power, ohms = max(found)
    more = 1.0 if ohms == here else _INTO_OTHER_LOAD
    words = (
        f"the {format_value(volts, 'V', digits=2)} of the claimed"
        f" {format_value(power, 'W')} into {format_value(ohms, 'ohm')}"
    )
    near = (0.45 * volts, 1.3 * more * volts)
    yield Plausible(volts, near, (0.0, _OVER_CLAIM * more * volts), words, is_bound=True)
