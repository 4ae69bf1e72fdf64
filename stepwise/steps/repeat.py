"""The same thing read several times: the mean, and what the repeats say of it."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from stepwise.quantities import Source, Uncertain, from_terms, last_digit, within_limits
from stepwise.steps.prompt import Reading


def combine_readings(readings: Sequence[Reading]) -> Uncertain:
    """The mean of readings of the same thing, each set up and read anew.

    What the readings share of a meter's error stays whole: reading twice does not mend a scale.
    What each has for itself shows in their scatter, which holds the rounding too; where they
    agree more closely than they were rounded, the rounding is taken instead.

    Args:
        readings: At least one, each with a measured value, all in one unit.

    Returns:
        The mean; its scatter carries its degrees of freedom.

    Raises:
        ValueError: There is no reading.

    Source:
        Mean and its standard deviation: JCGM 100:2008, 4.2.3. The larger of scatter and
        resolution: common practice, no source.
    """
    measured = [(each.key, each.measure) for each in readings if each.measure is not None]
    if not measured:
        raise ValueError("a mean needs at least one reading")
    if len(measured) == 1:
        return measured[0][1]
    count = len(measured)
    key = measured[0][0]
    values = [measure.value for _, measure in measured]
    shared: list[tuple[str, float]] = []
    own: list[float] = []
    for its_key, measure in measured:
        alone = [term for source, term in measure.terms.items() if _is_own(source, its_key)]
        own.append(math.hypot(*alone))
        shared.extend(
            (source, term / count)
            for source, term in measure.terms.items()
            if not _is_own(source, its_key)
        )
    scatter = statistics.stdev(values) / math.sqrt(count)
    rounding = max(own)
    is_least = any(measure.is_least for _, measure in measured)
    if scatter > rounding:
        scattered = Source(f"{key} scatter", freedom=count - 1.0, is_least=is_least)
        mine: tuple[str, float] = (scattered, scatter)
    else:
        # However closely they agree, an instrument that nobody names may be off by anything.
        of = last_digit if is_least else within_limits
        mine = (of(f"{key} resolution"), rounding)
    return from_terms(statistics.fmean(values), [*shared, mine])


def _is_own(source: str, key: str) -> bool:
    """Whether only the reading of that prompt is off by it."""
    return source.startswith(f"{key} ")
