"""What this version works out otherwise than it was shown when the readings were taken."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from stepwise.journal import Event
from stepwise.judge import Result
from stepwise.quantities import Uncertain, dotted, format_uncertain

_Place = tuple[str | None, ...]
_SAME = 1e-9
"""Relative difference of two floats that came of the same formula on another machine."""
_PLACE = ("step", "channel", "load", "point", "name")


@dataclass(frozen=True, slots=True)
class Otherwise:
    """One result that is not as it was shown."""

    where: str
    """Step, channel, load and name, as far as they apply."""
    shown: str
    """As it was shown; empty where it was not."""
    now: str
    """As it is worked out now; empty where it is not any more."""


def worked_out_otherwise(
    events: Sequence[Event], results: Sequence[Result]
) -> tuple[Otherwise, ...]:
    """Hold the results of a log against those that were shown while it was written.

    Args:
        events: Of the journal; what was shown stands beside each answer.
        results: As this version works them out.
    """
    shown = _last_shown(events)
    if not shown:
        return ()
    now = {_place_of(each): _now(each) for each in results}
    return tuple(
        Otherwise(dotted(*place), shown.get(place, _NOTHING).words, now.get(place, _NOTHING).words)
        for place in dict.fromkeys([*shown, *now])
        if not _alike(shown.get(place), now.get(place))
    )


@dataclass(frozen=True, slots=True)
class _Figure:
    value: float
    uncertainty: float
    verdict: str
    words: str


_NOTHING = _Figure(math.nan, math.nan, "", "")


def _last_shown(events: Sequence[Event]) -> dict[_Place, _Figure]:
    found: dict[_Place, _Figure] = {}
    for event in events:
        shown = event.data.get("shown")
        if not isinstance(shown, Mapping):
            continue
        for gone in _list(shown, "gone"):
            if isinstance(gone, Sequence) and not isinstance(gone, str):
                found.pop(tuple(gone), None)
        for result in _list(shown, "results"):
            if isinstance(result, Mapping):
                found |= dict(_shown(result))
    return found


def _list(shown: Mapping[str, object], name: str) -> Sequence[object]:
    some = shown.get(name)
    return some if isinstance(some, Sequence) and not isinstance(some, str) else ()


def _shown(result: Mapping[str, object]) -> Iterator[tuple[_Place, _Figure]]:
    value, spread = result.get("value"), result.get("standard_uncertainty")
    if spread is None and "standard_uncertainty" in result:
        spread = 0.0  # no instrument was named: nothing was shown beside the figure
    if isinstance(value, int | float) and isinstance(spread, int | float):
        place = tuple(_text(result.get(part)) for part in _PLACE)
        verdict, unit = str(result.get("verdict", "")), str(result.get("unit", ""))
        words = f"{format_uncertain(Uncertain(value, {'shown': spread}), unit)}, {verdict}"
        yield place, _Figure(value, spread, verdict, words)


def _text(part: object) -> str | None:
    return part if isinstance(part, str) else None


def _now(result: Result) -> _Figure:
    verdict = result.judgement.verdict.value
    spread = 0.0 if result.measure.is_least else result.measure.standard_uncertainty
    # Without the shape of its terms, as the journal holds it: the two are compared in print.
    words = format_uncertain(Uncertain(result.value, {"shown": spread}), result.unit)
    return _Figure(result.value, spread, verdict, f"{words}, {verdict}")


def _place_of(result: Result) -> _Place:
    return result.step, result.channel, result.load, result.point, result.name


def _alike(shown: _Figure | None, now: _Figure | None) -> bool:
    return (
        shown is not None
        and now is not None
        and shown.verdict == now.verdict
        and math.isclose(shown.value, now.value, rel_tol=_SAME, abs_tol=_SAME)
        and math.isclose(shown.uncertainty, now.uncertainty, rel_tol=1e-6, abs_tol=_SAME)
    )
