"""`square`: what the eye tells of a square wave on the oscilloscope."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

import msgspec

from stepwise.judge import LimitFields, Result
from stepwise.quantities import Answer, Expected, Form, format_value, require
from stepwise.steps.check import Checker
from stepwise.steps.fields import FrequencyText, LoadText, StepFields
from stepwise.steps.kind import Readings, StepKind, holds, pass_settings
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Prompt, Reading, Setting
from stepwise.steps.scene import Scene
from stepwise.steps.square_derived import DERIVED_UNITS, SeenLook, work_out_look
from stepwise.steps.work import PassWork

Feature = Literal[
    "overshoot",
    "preshoot",
    "tilt",
    "rise_time",
    "fall_time",
    "ringing_frequency",
    "ringing_cycles",
]

_ASK = {
    "overshoot": "Overshoot, of the height from low to high",
    "preshoot": "Preshoot, of the height from low to high",
    "tilt": "Tilt of the flat top, of the height it starts from",
    "rise_time": "Rise time, 10 % to 90 %",
    "fall_time": "Fall time, 90 % to 10 %",
    "ringing_frequency": "Frequency of the ringing",
    "ringing_cycles": "Cycles of ringing that can be counted (0 for none)",
}
_UNIT = {
    "overshoot": "%",
    "preshoot": "%",
    "tilt": "%",
    "rise_time": "s",
    "fall_time": "s",
    "ringing_frequency": "Hz",
    "ringing_cycles": "",
}
_ENTRY_UNIT = {"rise_time": "us", "fall_time": "us", "ringing_frequency": "kHz"}
"""Units taken when none is typed, where the SI unit would be unhandy."""

NO_CAPACITOR = "none"
_ALONE = "no capacitor"


class Look(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One picture on the oscilloscope and what is read from it."""

    tone: FrequencyText
    look_for: Annotated[tuple[Feature, ...], msgspec.Meta(min_length=1)]
    capacitor: str = NO_CAPACITOR
    """Capacitor across the load, such as "100 nF", or "none"."""
    optional: bool = False


class SquareLimits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Limits on what a square wave shows, by result name."""

    overshoot: LimitFields | None = None
    preshoot: LimitFields | None = None
    tilt: LimitFields | None = None
    rise_time: LimitFields | None = None
    fall_time: LimitFields | None = None
    ringing_frequency: LimitFields | None = None
    ringing_cycles: LimitFields | None = None
    corner_from_tilt: LimitFields | None = None
    corner_from_rise_time: LimitFields | None = None
    edge_slope: LimitFields | None = None
    slew_rate: LimitFields | None = None
    damping_ratio: LimitFields | None = None


class SquareFields(StepFields, frozen=True, kw_only=True, tag="square"):
    """Look at square waves, without and with a capacitor across the load."""

    looks: Annotated[tuple[Look, ...], msgspec.Meta(min_length=1)]
    level: str | None = None
    """Peak-to-peak volts at the output, such as "10 V"."""
    load: LoadText | None = None
    limits: SquareLimits | None = None


class Square(StepKind[SquareFields]):
    """Asks for what the eye sees of each picture."""

    fields = SquareFields
    result_units: ClassVar[Mapping[str, str]] = {**_UNIT, **DERIVED_UNITS}

    def check(self, step: SquareFields, checker: Checker) -> None:
        """Tones, capacitors, repetitions, limits."""
        checker.positive(("level",), step.level, "V")
        checker.positive(("load",), step.load, "ohm")
        seen: set[tuple[str, str]] = set()
        for place, look in enumerate(step.looks):
            path = ("looks", place)
            checker.positive((*path, "tone"), look.tone, "Hz")
            if look.capacitor != NO_CAPACITOR:
                checker.positive((*path, "capacitor"), look.capacitor, "F")
            if (look.tone, look.capacitor) in seen:
                what = f"{look.tone} with capacitor {look.capacitor} stands twice"
                checker.add(path, what, "join the two")
            seen.add((look.tone, look.capacitor))
            if len(set(look.look_for)) != len(look.look_for):
                checker.add((*path, "look_for"), "names one thing twice", "leave one out")
        if step.limits is not None:
            checker.limits(step.limits, self.result_units)

    def prompts(self, step: SquareFields, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """One prompt for each thing to look for in each picture."""
        return tuple(
            self._prompt(step, at, scene, look, feature)
            for look in step.looks
            for feature in look.look_for
        )

    def _prompt(
        self, step: SquareFields, at: Pass, scene: Scene, look: Look, feature: str
    ) -> Prompt:
        settings = list(pass_settings(at, scene))
        if step.load is not None:
            settings.append(Setting("load", format_value(require(step.load, "ohm"), "ohm")))
        settings.append(Setting("tone", f"{look.tone} square"))
        if step.level is not None:
            settings.append(Setting("level", f"{step.level} peak-to-peak"))
        across = _ALONE if look.capacitor == NO_CAPACITOR else look.capacitor
        settings.append(Setting("across the load", across))
        unit = _UNIT[feature]
        answer = Answer.SHARE if unit == "%" else Answer.QUANTITY
        return Prompt(
            of=at,
            kind="square",
            point=point_of(look, feature),
            ask=_ASK[feature],
            expected=Expected(answer, _ENTRY_UNIT.get(feature, unit), Form.PLAIN, "oscilloscope"),
            settings=tuple(settings),
            optional=look.optional or step.optional,
            **holds(step.hold),
            tone=True,
        )

    def limit(self, step: SquareFields, at: Pass, point: str) -> tuple[LimitFields | None, str]:
        """The limit on what is looked for."""
        feature = point.rsplit("/", 1)[-1]
        return getattr(step.limits, feature, None), _UNIT.get(feature, "")

    def results(
        self, step: SquareFields, at: Pass, readings: Readings, known: Known
    ) -> list[Result]:
        """Each thing seen, held against its limit, and what follows from it."""
        work = PassWork(at, known, step.limits)
        for look in step.looks:
            seen = _seen(step, look, readings)
            for feature, reading in seen.readings.items():
                label = f"{feature.replace('_', ' ').capitalize()} at {seen.label}"
                work.read(reading, feature, label, work.limit_fields(feature))
            work_out_look(seen, work)
        return work.results

    def summary(self, step: SquareFields) -> str:
        """One plain line."""
        return f"{len(step.looks)} pictures on the oscilloscope"


def point_of(look: Look, feature: str) -> str:
    """The point of a square-wave prompt: tone/capacitor/what."""
    return f"{look.tone}/{look.capacitor}/{feature}"


def _seen(step: SquareFields, look: Look, readings: Readings) -> SeenLook:
    """What was read of one picture."""
    read: dict[str, Reading] = {
        feature: reading
        for feature in look.look_for
        if (reading := readings.get(point_of(look, feature))) is not None
        and reading.measure is not None
    }
    across = "" if look.capacitor == NO_CAPACITOR else f", {look.capacitor} across"
    return SeenLook(look.tone, f"{look.tone}{across}", step.level, read)
