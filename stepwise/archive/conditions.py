"""Whether runs can be compared at all: everything that was not the same."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from stepwise.archive.comparison import Bearing, Condition
from stepwise.archive.sources import origin_of
from stepwise.errors import DimensionError, NotationError
from stepwise.quantities import NOT_A_FIGURE, format_value, require, with_signs

if TYPE_CHECKING:
    from stepwise.bench import Load, Meter
    from stepwise.run import RunView

    Tell = Callable[[RunView], str]

_LEVEL_STEP_DB = 1.0
"""From so much on two sweep levels are told as different: common practice, no source."""
_ORDER = tuple(Bearing)


def differing_conditions(views: Sequence[RunView]) -> tuple[Condition, ...]:
    """What is not the same in all runs, gravest first.

    Args:
        views: The runs, at least two.
    """
    found = [
        *_differing(views, "kind of bench", _kind, Bearing.PREVENTS, "a rehearsal is no reading"),
        *_differing(views, "procedure", _procedure, Bearing.MATTERS, "all results"),
        *_wording(views),
        *_differing(views, "supply", _supply, Bearing.MATTERS, "power, sag, rails and heat"),
        *_loads(views),
        *_levels(views),
        *_meters(views),
        *_differing(
            views, "bench response", _bench_response, Bearing.MATTERS, "levels of the sweep"
        ),
        *_differing(views, "bench", _bench, Bearing.NOTE, "its errors are not shared"),
        *_differing(views, "unit", _unit, Bearing.NOTE, "two units, not one before and after"),
        *_differing(views, "state", _state, Bearing.NOTE, "what was left out is missing"),
        *_differing(views, "version", _version, Bearing.NOTE, "results are worked out anew here"),
    ]
    return tuple(sorted(found, key=lambda each: _ORDER.index(each.bearing)))


def prevents(first: RunView, second: RunView) -> bool:
    """Whether two runs are of kinds whose figures say nothing about one another."""
    return _kind(first) != _kind(second)


def _differing(
    views: Sequence[RunView], what: str, tell: Tell, bearing: Bearing, affects: str
) -> Iterator[Condition]:
    values = tuple(tell(view) for view in views)
    if len(set(values)) > 1:
        yield Condition(what, values, bearing, affects)


def _kind(view: RunView) -> str:
    return "simulated" if view.run.state.begin.get("rehearsal") else "real"


def _procedure(view: RunView) -> str:
    procedure = view.run.plan.procedure
    return f"{procedure.name}, revision {procedure.revision}"


def _wording(views: Sequence[RunView]) -> Iterator[Condition]:
    """A procedure that was changed without counting its revision up."""
    if len({_procedure(view) for view in views}) > 1:
        return
    texts = [view.run.plan.procedure.text for view in views]
    numbers = {text: number for number, text in enumerate(dict.fromkeys(texts), start=1)}
    if len(numbers) > 1:
        values = tuple(f"text {numbers[text]}" for text in texts)
        yield Condition("wording of the procedure", values, Bearing.MATTERS, "perhaps all results")


def _supply(view: RunView) -> str:
    supply = view.run.plan.bench.supply
    parts = [supply.kind]
    if supply.secondary is not None:
        parts.append(f"{supply.windings} × {format_value(supply.secondary, 'V')}")
    if supply.rating is not None:
        parts.append(format_value(supply.rating, "VA"))
    return ", ".join([*parts, format_value(supply.mains_hertz, "Hz")])


def _loads(views: Sequence[RunView]) -> Iterator[Condition]:
    labels = dict.fromkeys(load.label for view in views for load in view.run.plan.scene.loads())
    for label in labels:
        yield from _differing(
            views,
            f"load {with_signs(label)}",
            lambda view, label=label: _load(view.run.plan.bench.load(label)),  # type: ignore[misc]
            Bearing.MATTERS,
            "power into it",
        )


def _load(load: Load | None) -> str:
    return NOT_A_FIGURE if load is None else f"measured {format_value(load.measured, 'ohm')}"


def _levels(views: Sequence[RunView]) -> Iterator[Condition]:
    """Sweeps at levels so far apart that they are two measurements."""
    from stepwise.steps import SweepFields

    steps = dict.fromkeys(
        (step.id, channel)
        for view in views
        for step in view.run.plan.procedure.steps
        if isinstance(step, SweepFields)
        for channel in (view.run.plan.unit.channels if "channel" in step.repeat else (None,))
    )
    for step, channel in steps:
        volts = [_reference(view, step, channel) for view in views]
        known = [each for each in volts if each]
        if len(known) > 1 and _decibels(max(known), min(known)) > _LEVEL_STEP_DB:
            where = " ".join(part for part in (step, channel) if part)
            values = tuple(NOT_A_FIGURE if v is None else format_value(v, "V") for v in volts)
            yield Condition(
                f"level of {where}", values, Bearing.MATTERS, "response near clipping and in noise"
            )


def _reference(view: RunView, step: str, channel: str | None) -> float | None:
    found = (
        result.value
        for result in view.run.results()
        if (result.step, result.channel, result.name) == (step, channel, "reference")
    )
    return next(found, None)


def _decibels(high: float, low: float) -> float:
    return 20.0 * math.log10(high / low)


def _meters(views: Sequence[RunView]) -> Iterator[Condition]:
    ids = dict.fromkeys(meter.id for view in views for meter in view.run.plan.bench.meters)
    for meter_id in ids:
        meters = [view.run.plan.bench.meter(meter_id) for view in views]
        numbers = {meter: place for place, meter in enumerate(_distinct(meters), start=1)}
        if len(numbers) > 1:
            values = tuple(_meter(meter) for meter in meters)
            if len(set(values)) == 1:
                values = tuple(f"{_meter(meter)}, no. {numbers[meter]}" for meter in meters)
            yield Condition(f"meter {meter_id}", values, Bearing.NOTE, "what it reads")


def _distinct(meters: Sequence[Meter | None]) -> tuple[Meter | None, ...]:
    return tuple(dict.fromkeys(meters))


def _meter(meter: Meter | None) -> str:
    if meter is None:
        return NOT_A_FIGURE
    accuracy = meter.accuracy
    parts = [
        f"{share * 100.0:g} % {words}"
        for share, words in (
            (accuracy.of_scale, "of full scale"),
            (accuracy.of_reading, "of reading"),
        )
        if share
    ]
    parts += [f"{accuracy.digits:g} digits"] if accuracy.digits else []
    parts += [format_value(accuracy.amount, meter.unit)] if accuracy.amount else []
    return f"{meter.type.value}, {meter.detector.value}, {' + '.join(parts)}"


def _bench_response(view: RunView) -> str:
    measured = getattr(view.run.plan.scene, "bench_response", None)
    return "taken off" if measured is not None else "not taken off"


def _bench(view: RunView) -> str:
    origin = origin_of(view.run, "")
    simulated = f" (simulated, seed {origin.bench_seed})" if origin.bench_seed is not None else ""
    return f"{origin.bench.name}{simulated}"


def _unit(view: RunView) -> str:
    unit = view.run.plan.unit
    return f"{unit.name} {unit.serial}".strip()


def _state(view: RunView) -> str:
    parts = ["complete" if view.run.is_complete() else "not complete"]
    parts += ["transcribed"] if view.run.transcribed else []
    parts += ["log damaged"] if view.record.damages else []
    return ", ".join(parts)


def _version(view: RunView) -> str:
    return str(view.run.state.begin.get("version", NOT_A_FIGURE))


def hertz_of(point: str | None) -> float | None:
    """The frequency [Hz] that a result's point names; None where it names none."""
    if point is None:
        return None
    try:
        return require(point, "Hz")
    except (NotationError, DimensionError):
        return None
