"""Where a temperature is going: the end, the time it takes, and what that says of the cooling."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import TYPE_CHECKING

from stepwise.judge import LimitFields
from stepwise.quantities import Uncertain, from_terms, propagate, rectangular, within_limits
from stepwise.steps.prompt import Reading
from stepwise.steps.work import PassWork

if TYPE_CHECKING:
    from stepwise.science import ApproachFit

_FEWEST = 3
_CLOCK_SECONDS = 15.0
"""A temperature is read within this of its time: common practice, no source."""
_SAME_PACE = 0.5
"""Share by which times of answering may differ from those asked for and still be believed: a
log entered afterwards has other times altogether."""
_LOSS_DOUBT = 0.05
"""Share by which a loss worked out from volts may be off, by the sag of the rails and by what
the stage loses at idle [1]: common practice, no source."""
_SURE_KELVIN = 0.05
"""Least standard uncertainty that a reading is given, so that exact ones can be fitted [K]."""


@dataclass(frozen=True, slots=True)
class Heating:
    """What is known of a place besides its own temperatures."""

    place: str
    limit: LimitFields | None
    """On the temperature."""
    ambient: str
    """Name of the reading of the air's temperature; empty where there is none."""
    heated_by: str
    """Name of the loss that heats the place; empty where there is none."""


def work_out_end(heating: Heating, timed: Sequence[tuple[float, Reading]], work: PassWork) -> None:
    """Enter the final temperature and what follows from it, from three readings up.

    Args:
        heating: The place.
        timed: Time asked for [s] and reading, in the order of time.
        work: Where results are entered.
    """
    from stepwise.science import fit_exponential_approach, trust_in_approach

    if len(timed) < _FEWEST:
        return
    times = _times(timed)
    measures = [reading.measure for _, reading in timed if reading.measure is not None]
    fit = fit_exponential_approach(
        times, [each.value for each in measures], [_own(each, measures) for each in measures]
    )
    if fit is None:
        return
    keys = tuple(reading.key for _, reading in timed)
    end = _End(fit, _with_clock(measures, fit, times, keys))
    word, sentence = trust_in_approach(fit)
    label = f"Final temperature of the {heating.place}" + (f" ({word})" if word else "")
    work.put("final_temperature", label, end.final, "C", keys, heating.place)
    work.remark(sentence)
    tau = propagate(math.exp, end.log_tau)
    work.put("time_constant", f"Time constant of the {heating.place}", tau, "s", keys,
             heating.place)  # fmt: skip
    _time_to_limit(heating, end, keys, work)
    _resistance(heating, end, keys, work)


@dataclass(frozen=True, slots=True)
class _End:
    """An approach whose parameters know which reading they come from."""

    fit: ApproachFit
    readings: Sequence[Uncertain]

    def _parameter(self, place: int, value: float) -> Uncertain:
        gains = self.fit.gains[place]
        return from_terms(
            value,
            (
                (source, float(gain) * term)
                for gain, reading in zip(gains, self.readings, strict=True)
                for source, term in reading.terms.items()
            ),
        )

    @property
    def start(self) -> Uncertain:
        return self._parameter(0, self.fit.start)

    @property
    def final(self) -> Uncertain:
        return self._parameter(1, self.fit.final)

    @property
    def log_tau(self) -> Uncertain:
        return self._parameter(2, math.log(self.fit.tau_s))


def _times(timed: Sequence[tuple[float, Reading]]) -> list[float]:
    """When the readings were taken [s]: by the journal where it kept pace, else as asked for."""
    asked = [time for time, _ in timed]
    answered = [_instant(reading.at) for _, reading in timed]
    known = [each for each in answered if each is not None]
    in_order = [reading.seq for _, reading in timed]
    # A correction has the time of the correction; one made later than the next reading shows.
    if len(known) < len(timed) or in_order != sorted(in_order):
        return asked
    elapsed = [each - known[0] for each in known]
    for (before, after), (began, ended) in zip(pairwise(asked), pairwise(elapsed), strict=True):
        if abs((ended - began) - (after - before)) > _SAME_PACE * (after - before):
            return asked
    return [asked[0] + each for each in elapsed]


def _instant(text: str) -> float | None:
    try:
        return datetime.fromisoformat(text).timestamp()
    except ValueError:
        return None


def _own(measure: Uncertain, measures: Sequence[Uncertain]) -> float:
    """Standard uncertainty [K] apart from what all readings share, which bends no curve."""
    own = (
        term
        for source, term in measure.terms.items()
        if not all(source in other.terms for other in measures)
    )
    return max(_SURE_KELVIN, math.hypot(*own))


def _with_clock(
    measures: Sequence[Uncertain], fit: ApproachFit, times: Sequence[float], keys: Sequence[str]
) -> list[Uncertain]:
    """The readings, each off by what the temperature changes while the clock is looked at."""
    made = []
    for measure, time, key in zip(measures, times, keys, strict=True):
        slope = (fit.final - fit.start) / fit.tau_s * math.exp(-time / fit.tau_s)
        term = (within_limits(f"{key} clock"), slope * rectangular(_CLOCK_SECONDS))
        made.append(from_terms(measure.value, [*measure.terms.items(), term]))
    return made


def _time_to_limit(heating: Heating, end: _End, keys: tuple[str, ...], work: PassWork) -> None:
    """From the start of the heating until the limit; nothing where it is never reached."""
    from stepwise.science import time_to_reach

    limit = work.known.limit(heating.limit, "C", work.at)
    if limit is None or limit.high is None:
        return
    highest = limit.high

    def until(start: float, final: float, log_tau: float) -> float:
        seconds = time_to_reach(highest, start, final, math.exp(log_tau))
        if seconds is None:
            raise ValueError("the limit is not reached")
        return seconds

    inputs = [(each, key) for each, key in zip((end.start, end.final, end.log_tau), keys,
                                               strict=False)]  # fmt: skip
    work.compute(
        "time_to_limit", f"Time until the {heating.place} reaches its limit", "s", until,
        *inputs, point=heating.place, also=keys,
    )  # fmt: skip


def _resistance(heating: Heating, end: _End, keys: tuple[str, ...], work: PassWork) -> None:
    """Rise of the place for each watt that heats it."""
    from stepwise.science import thermal_resistance

    air = work.known.find(heating.ambient, work.at) if heating.ambient else None
    watts = _heat(heating.heated_by, work) if heating.heated_by else None
    if air is None or watts is None:
        return
    work.compute(
        "thermal_resistance", f"Thermal resistance of the {heating.place}", "K/W",
        thermal_resistance, (end.final, keys[-1]), (air.measure, air.key or ""), (watts, ""),
        point=heating.place, also=keys,
    )  # fmt: skip


def _heat(name: str, work: PassWork) -> Uncertain | None:
    """The loss of that name, of all channels together where it was found for each."""
    latest = {result.channel: result.measure for result in work.known.by_name.get(name, ())}
    if not latest:
        return None
    total = propagate(lambda *watts: math.fsum(watts), *latest.values())
    doubt = rectangular(_LOSS_DOUBT * abs(total.value))
    return from_terms(
        total.value, [*total.terms.items(), (within_limits(f"model of {name}"), doubt)]
    )
