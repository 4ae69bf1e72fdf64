"""`thermal`: how hot it gets, by thermometer or by finger, now and in the end."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, ClassVar

import msgspec

from stepwise.judge import LimitFields, Result
from stepwise.quantities import Answer, Expected, require
from stepwise.steps.check import Checker
from stepwise.steps.fields import DurationText, NameText, StepFields
from stepwise.steps.kind import NeededMeter, Readings, StepKind, holds, pass_settings
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Prompt, Reading, Setting
from stepwise.steps.scene import Scene
from stepwise.steps.thermal_end import Heating, work_out_end
from stepwise.steps.work import PassWork

_RESULT_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "temperature": "C",
        "final_temperature": "C",
        "time_constant": "s",
        "time_to_limit": "s",
        "thermal_resistance": "K/W",
    }
)


class ThermalLimits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Limits on heat, by result name."""

    temperature: LimitFields | None = None
    final_temperature: LimitFields | None = None
    time_constant: LimitFields | None = None
    time_to_limit: LimitFields | None = None
    thermal_resistance: LimitFields | None = None


class ThermalFields(StepFields, frozen=True, kw_only=True, tag="thermal"):
    """Touch or measure each place."""

    places: Annotated[tuple[str, ...], msgspec.Meta(min_length=1)]
    at: tuple[DurationText, ...] = ()
    """Times after the start at which every place is read; empty for once."""
    meter: str = ""
    """Id of the thermometer; what the finger says is taken too."""
    ambient: NameText | None = None
    """Name of an earlier reading of the air's temperature."""
    heated_by: NameText | None = None
    """Name of an earlier result, the loss that heats the places [W]; channels add."""
    limits: ThermalLimits | None = None


class Thermal(StepKind[ThermalFields]):
    """Asks how hot each place is."""

    fields = ThermalFields
    result_units: ClassVar[Mapping[str, str]] = _RESULT_UNITS
    tells_time = True

    def check(self, step: ThermalFields, checker: Checker) -> None:
        """Places, times in order, limits."""
        seen: set[str] = set()
        for position, place in enumerate(step.places):
            if not place.strip() or "/" in place:
                checker.add(("places", position), f"“{place}” is no name", "write a word or two")
            if place in seen:
                checker.add(("places", position), f"“{place}” stands twice", "leave one out")
            seen.add(place)
        times = [checker.quantity(("at", n), text, "s") for n, text in enumerate(step.at)]
        known = [time for time in times if time is not None]
        for n, time in enumerate(times):
            if time is not None and time < 0.0:
                checker.add(("at", n), f"“{step.at[n]}” is before the start", "give 0 s or more")
        if known != sorted(set(known)):
            checker.add(("at",), "the times are not in order", "begin with the earliest")
        checker.name(("ambient",), step.ambient, "C")
        checker.name(("heated_by",), step.heated_by, "W")
        if step.limits is not None:
            checker.limits(step.limits, self.result_units)

    def meters(self, step: ThermalFields) -> tuple[NeededMeter, ...]:
        """The thermometer, where one is named."""
        return (NeededMeter(step.meter, "C"),) if step.meter else ()

    def prompts(self, step: ThermalFields, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """Every place, at every time."""
        if not step.at:
            return tuple(self._prompt(step, at, scene, place, None) for place in step.places)
        return tuple(
            self._prompt(step, at, scene, place, time) for time in step.at for place in step.places
        )

    def _prompt(
        self, step: ThermalFields, at: Pass, scene: Scene, place: str, time: str | None
    ) -> Prompt:
        meter = scene.bench.meter(step.meter)
        settings = pass_settings(at, scene)
        if time is not None:
            settings = (*settings, Setting("time", f"{time} after the start"))
        return Prompt(
            of=at,
            kind="thermal",
            point=_point(place, time),
            ask=f"How hot is the {place}",
            expected=Expected(Answer.HEAT, "C", meter=meter.title if meter else "the finger"),
            meter=step.meter,
            settings=settings,
            optional=step.optional,
            **holds(step.hold),
        )

    def limit(self, step: ThermalFields, at: Pass, point: str) -> tuple[LimitFields | None, str]:
        """The limit on temperature."""
        return getattr(step.limits, "temperature", None), "C"

    def results(
        self, step: ThermalFields, at: Pass, readings: Readings, known: Known
    ) -> list[Result]:
        """Each temperature, and where it would end."""
        work = PassWork(at, known, step.limits)
        for time in step.at or (None,):
            for place in step.places:
                reading = readings.get(_point(place, time))
                if reading is not None and reading.measure is not None:
                    label = _point(place, time).capitalize()
                    work.read(reading, "temperature", label, work.limit_fields("temperature"))
        for place in step.places:
            _work_out_end(step, place, readings, work)
        return work.results

    def summary(self, step: ThermalFields) -> str:
        """One plain line."""
        times = f", at {len(step.at)} times" if step.at else ""
        return f"heat of {', '.join(step.places)}{times}"


def _point(place: str, time: str | None) -> str:
    return place if time is None else f"{place} at {time}"


def _work_out_end(step: ThermalFields, place: str, readings: Readings, work: PassWork) -> None:
    timed: list[tuple[float, Reading]] = []
    for time in step.at:
        reading = readings.get(_point(place, time))
        if reading is not None and reading.measure is not None:
            timed.append((require(time, "s"), reading))
    limit = work.limit_fields("temperature") or work.limit_fields("final_temperature")
    work_out_end(Heating(place, limit, step.ambient or "", step.heated_by or ""), timed, work)
