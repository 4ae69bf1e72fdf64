"""Finding slips: a reading that no prediction holds, and that a known slip explains."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType

from stepwise.judge.slips import level, others, response, supply
from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.candidate import Candidate, candidates
from stepwise.judge.slips.meant import meant_text
from stepwise.judge.slips.plausible import Plausible
from stepwise.judge.slips.relation import amount, relation
from stepwise.judge.slips.row_slip import frequency_for_level, out_of_step, row_twice
from stepwise.judge.slips.sign_slip import sign_left_out
from stepwise.judge.slips.slip import Slip
from stepwise.quantities import Answer, Understood, format_value

Predictor = Callable[[Asked], Iterator[Plausible]]

_BY_NAME: Mapping[str, Predictor] = MappingProxyType(
    {
        "secondary_volts": supply.secondary,
        "secondary_volts_2": supply.secondary,
        "rail_plus": supply.rail,
        "rail_minus": supply.rail,
        "level_at_ten_percent": level.flattened,
        "level_open": level.same_setting,
        "level_8": level.same_setting,
        "level_4": level.same_setting,
        "reference": level.reference,
        "reference_again": level.reference_again,
        "level_db": response.levels,
        "idle_current": others.idle_current,
        "shown_8": others.load_ohms,
        "shown_4": others.load_ohms,
        "oscillator_loaded": others.oscillator,
        "switch_on_delay": others.delay,
        "temperature": others.temperature,
        "rise_time": others.edge_time,
        "fall_time": others.edge_time,
    }
)
"""Name of a reading -> what predicts it. The value of one that is not here is never doubted."""

_TINY = re.compile(r"[-+\u2212\u2013]?0?[.,]0[0-9]{2,}\Z")
"""A number such as 0.012, which no bench meter shows in thousandths of a unit."""
_MILLI_ASKED = frozenset({"offset", "offset_hot", "offset_lamp"})


def find_slip(asked: Asked, understood: Understood) -> Slip | None:
    """What is probably wrong with a reading; None where it may well be so.

    A reading is doubted only where every prediction of it rules it out and what a known slip
    would have made of it meets one of them closely, so that honest errors and honest faults
    are let through.

    Args:
        asked: The prompt with what was read before it.
        understood: The answer as it was read.
    """
    if understood.interval is not None or asked.expected.answer not in _DOUBTFUL:
        return None
    return _by_value(asked, understood) or _no_such_range(asked, understood)


def _by_value(asked: Asked, understood: Understood) -> Slip | None:
    """Slips of a value that nothing before it lets expect."""
    if asked.name in _MILLI_ASKED:
        return _unit_left_out(asked, understood)
    predictor = level.clean if _is_clean_level(asked) else _BY_NAME.get(asked.name)
    if predictor is None:
        return None
    plausible = tuple(predictor(asked))
    return _in_row(asked, understood, plausible) or _explained(asked, understood, plausible)


_DOUBTFUL = frozenset({Answer.QUANTITY, Answer.LEVEL, Answer.HEAT})


def _is_clean_level(asked: Asked) -> bool:
    return asked.kind == "clip" and asked.name == "level"


def _in_row(asked: Asked, understood: Understood, plausible: Sequence[Plausible]) -> Slip | None:
    """Slips that do not follow from the value alone."""
    if asked.name == "level_db":
        slip = (
            row_twice(asked, understood)
            or out_of_step(asked, understood)
            or sign_left_out(asked, understood, plausible)
        )
        if slip is not None:
            return slip
    if plausible and not _is_held(understood.value, plausible):
        return frequency_for_level(asked, understood)
    return None


def _is_held(value: float, plausible: Sequence[Plausible]) -> bool:
    """Whether a value passes every bound, and one of the predictions where there are any."""
    if not all(each.holds(value) for each in plausible if each.is_bound):
        return False
    predictions = [each for each in plausible if not each.is_bound]
    return not predictions or any(each.holds(value) for each in predictions)


def _explained(asked: Asked, understood: Understood, plausible: Sequence[Plausible]) -> Slip | None:
    if not plausible or _is_held(understood.value, plausible):
        return None
    # What the typed value meets is no evidence against it.
    against = [each for each in plausible if not each.holds(understood.value)]
    ranked: list[tuple[float, Candidate, Plausible]] = []
    for candidate in candidates(asked, understood):
        fitting = [each for each in against if each.fits(candidate.value)]
        if fitting and all(each.holds(candidate.value) for each in plausible):
            closest = min(fitting, key=lambda each: each.distance(candidate.value))
            score = candidate.penalty + closest.distance(candidate.value)
            ranked.append((score, candidate, closest))
    for _, candidate, closest in sorted(ranked, key=lambda each: each[0]):
        if not candidate.is_told:
            return Slip(candidate.slip, f"{relation(understood, closest)}; {candidate.phrase}")
        found = meant_text(asked, understood, candidate)
        if found is not None:
            text, entry = found
            meant = amount(entry.value, entry.unit, entry.form)
            said = f"{relation(understood, closest)}; {candidate.phrase} {meant}"
            return Slip(candidate.slip, said, text, entry.echo)
    return None


def _no_such_range(asked: Asked, understood: Understood) -> Slip | None:
    """A range named on a meter that has none: another meter was read, or two numbers are one."""
    full_scale = understood.range_full_scale
    if full_scale is None or not asked.is_without_ranges:
        return None
    candidate = Candidate("no-such-range", understood.value, "", kept_typed=False)
    found = meant_text(asked, understood, candidate)
    if found is None:
        return None
    text, entry = found
    shown = amount(entry.value, entry.unit, entry.form)
    return Slip(
        "no-such-range",
        f"the bench states no ranges of {asked.expected.meter}, a digital meter, so there is no "
        f"range of {format_value(full_scale, understood.unit)} on it; without one it is {shown}",
        text, entry.echo,
    )  # fmt: skip


def _unit_left_out(asked: Asked, understood: Understood) -> Slip | None:
    """Volts typed where thousandths are taken: 0.012 would be a dozen microvolts."""
    typed = understood.typed.strip()
    if asked.expected.unit != "mV" or not _TINY.match(typed):
        return None
    candidate = Candidate("kilo", understood.value * 1000.0, "in volts it is")
    found = meant_text(asked, understood, candidate)
    if found is None:
        return None
    text, entry = found
    shown = amount(understood.value, understood.unit, understood.form)
    meant = amount(entry.value, entry.unit, entry.form)
    return Slip(
        "kilo", f"{shown} is less than the meter tells apart; in volts it is {meant}", text,
        entry.echo,
    )  # fmt: skip
