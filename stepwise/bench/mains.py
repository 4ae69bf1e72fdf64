"""What feeds the unit does not stand still: volts of two passes are not of one mains.

A reading says what stood there when it was taken, and carries its meter's error alone. Where a
result holds it against a reading of another pass, the mains has moved in between, and with it
whatever hangs on an unregulated supply.
"""

from __future__ import annotations

from stepwise.bench.bench import Supply
from stepwise.quantities import Uncertain, from_terms, rectangular, within_limits

MAINS_WANDER = 0.01
"""How far the mains stands in a pass from where it usually does, either way, within hours:
limit, share of its volts [1]; common practice, no source."""


def follows_mains(supply: Supply) -> bool:
    """Whether the rails rise and fall with the mains: a laboratory supply holds them."""
    return "transformer" in supply.kind


def carried_over(volts: Uncertain, supply: Supply, then: str, now: str) -> Uncertain:
    """A voltage that was read in one pass, as it would have stood in another.

    Each pass has one mains for all that is read in it, so that whatever is carried over from
    one pass to another moves together: ratios of it bear nothing.

    Args:
        volts: Something that rises in proportion to the mains [V].
        supply: What feeds the unit.
        then: Key of the pass in which it was read; empty for what a file states.
        now: Key of the pass in which it is used.

    Returns:
        The same value, with a term for the mains in either pass; unchanged within one pass and
        on a supply that does not follow the mains.

    Source:
        JCGM 100:2008, 4.3.7 for the limit; how wide it is, common practice, no source.
    """
    if not then or then == now or not follows_mains(supply):
        return volts
    share = rectangular(MAINS_WANDER) * volts.value
    terms = ((_mains_of(then), -share), (_mains_of(now), share))
    return from_terms(volts.value, [*volts.terms.items(), *terms])


def _mains_of(pass_key: str) -> str:
    return within_limits(f"mains in {pass_key}")
