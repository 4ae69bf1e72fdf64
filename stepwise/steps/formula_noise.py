"""What is left of a reading without the noise that stands in it, for formulas that ask for it."""

from __future__ import annotations

from dataclasses import dataclass

from stepwise.judge import Result
from stepwise.quantities import Uncertain, format_value, from_terms, propagate, same_dimension
from stepwise.steps.check import Checker, Path
from stepwise.steps.reading_fields import NoiseAsk
from stepwise.steps.work import PassWork

_SURE = 3.0
"""Standard uncertainties by which a reading must be above its noise, as for flags."""


@dataclass(frozen=True, slots=True)
class Cleared:
    """A reading as a formula takes it."""

    value: Uncertain
    keys: tuple[str, ...]
    """Prompts that the noise came from."""
    remark: str
    """How far to trust what comes of it; empty where the noise was taken off."""
    is_bound: bool
    """Nothing sure is left above the noise: what comes of it is at most so much."""


def check_noise(ask: NoiseAsk, used: tuple[str, ...], path: Path, checker: Checker) -> None:
    """Report a noise that is not known, or is of another kind than the reading.

    Args:
        ask: Whose noise is taken off what.
        used: Names that the formula uses.
        path: Place of `ask` within the step.
        checker: Knows the names so far; takes the problems.
    """
    if ask.level not in used:
        checker.add((*path, "level"), f"the formula uses no “{ask.level}”", "name one of its names")
        return
    if ask.noise not in checker.names:
        checker.unknown((*path, "noise"), ask.noise)
    elif not same_dimension(checker.names[ask.noise], checker.names.get(ask.level, "")):
        unit = checker.names.get(ask.level, "") or "no unit"
        checker.add((*path, "noise"), f"“{ask.noise}” is no part of it", f"name one in {unit}")


def clear_of_noise(ask: NoiseAsk, level: Uncertain, work: PassWork) -> Cleared:
    """A reading with the power of its noise taken off, as far as the reading is above it.

    Near the noise the reading stays as it is, or the noise does where that is more: what is
    sought is at most that. Of a reading that the meter cannot tell from nothing only the most
    that it may be is known: a ratio to next to nothing, in dB, has no uncertainty worth the name.
    """
    from stepwise.science import without_meter_noise

    noise = _noise(ask, work)
    if noise is not None and _is_above(level, noise.measure):
        try:
            left = propagate(without_meter_noise, level, noise.measure)
            return Cleared(left, noise.basis, "", is_bound=False)
        except ValueError:
            pass  # nudged by its uncertainty it would stand below its noise: near it, then
    keys = noise.basis if noise is not None else ()
    # A reading below the noise says no more than the noise does.
    read = [level, noise.measure] if noise is not None else [level]
    most = max(read, key=lambda each: each.value)
    if most.value <= most.expanded_uncertainty:
        remark = "The meter cannot tell this from nothing, so it is at most this."
        most = Uncertain(most.value + most.expanded_uncertainty)
        return Cleared(most, keys, remark, is_bound=True)
    if noise is None:
        return Cleared(level, (), "The noise was not read: it is in this figure.", is_bound=False)
    near = format_value(noise.value, noise.unit, digits=3)
    remark = f"Near the noise of {near} that was read without a signal, so it is at most this."
    return Cleared(most, keys, remark, is_bound=True)


def _noise(ask: NoiseAsk, work: PassWork) -> Result | None:
    """The noise where the reading was taken: on this channel, or on the other one.

    Of several other channels the noisiest stands for all: none is said to be the one.
    """
    if ask.channel == "other" and work.at.channel is not None:
        latest = {
            each.channel: each
            for each in work.known.by_name.get(ask.noise, ())
            if each.channel not in (None, work.at.channel) and each.load in (None, work.at.load)
        }
        return max(latest.values(), key=lambda each: each.value, default=None)
    here = next((each for each in reversed(work.results) if each.name == ask.noise), None)
    return here or work.known.find(ask.noise, work.at)


def _is_above(level: Uncertain, noise: Uncertain) -> bool:
    """Whether it is surely above; what both owe to one range of one meter cancels."""
    terms = [*level.terms.items(), *((source, -term) for source, term in noise.terms.items())]
    apart = from_terms(level.value - noise.value, terms)
    return noise.value >= 0.0 and apart.value > _SURE * apart.standard_uncertainty
