"""`clip`: the cleanest power, just before the tops flatten, and what the supply does."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import ClassVar, Literal

import msgspec

from stepwise.bench import Detector
from stepwise.judge import LimitFields, Result
from stepwise.quantities import Answer, Expected, Form, Uncertain, from_terms, rectangular
from stepwise.steps.check import Checker
from stepwise.steps.fields import FrequencyText, StepFields
from stepwise.steps.kind import Readings, StepKind, holds, pass_settings
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Prompt, Reading, Setting
from stepwise.steps.scene import Scene
from stepwise.steps.work import PassWork

Also = Literal["secondary_volts", "rail_plus", "rail_minus", "level_at_ten_percent"]

_ASK = {
    "secondary_volts": "Secondary volts, tone on",
    "rail_plus": "Positive rail, tone on",
    "rail_minus": "Negative rail, tone on",
    "level_at_ten_percent": "Level where the tops are well flattened (10 %)",
}
_SAGGING = {
    "secondary_volts": "Sag of the secondary",
    "rail_plus": "Sag of the positive rail",
    "rail_minus": "Sag of the negative rail",
}
_LOUD_CLAIM = 5.0
"""A claim at this distortion [%] or more speaks of a clipped wave, not of clean power."""


class ClipLimits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Limits on what a clip test shows, by result name."""

    power: LimitFields | None = None
    power_at_ten_percent: LimitFields | None = None
    sag: LimitFields | None = None
    regulation: LimitFields | None = None
    ceiling: LimitFields | None = None
    headroom_loss: LimitFields | None = None
    claim_ratio: LimitFields | None = None
    channel_balance: LimitFields | None = None


class ClipFields(StepFields, frozen=True, kw_only=True, tag="clip"):
    """Turn up until the tops just flatten, back off, read."""

    tone: FrequencyText = "1 kHz"
    meter: str = "ac"
    rail_meter: str = "dc"
    also: tuple[Also, ...] = ()
    """What else is read while the tone is on."""
    limits: ClipLimits | None = None


class Clip(StepKind[ClipFields]):
    """Asks for the level before clipping and what the supply does meanwhile."""

    fields = ClipFields
    result_units: ClassVar[Mapping[str, str]] = {
        "power": "W",
        "power_at_ten_percent": "W",
        "sag": "%",
        "regulation": "%",
        "ceiling": "W",
        "headroom_loss": "V",
        "claim_ratio": "%",
        "channel_balance": "dB",
    }

    def check(self, step: ClipFields, checker: Checker) -> None:
        """Tone, times, limits; a level into no load is no power."""
        checker.quantity(("tone",), step.tone, "Hz")
        if "load" not in step.repeat:
            checker.add(
                ("repeat",), "a clip test needs a load", 'write repeat = ["channel", "load"]'
            )
        if step.limits is not None:
            checker.limits(step.limits, self.result_units)

    def names(self, step: ClipFields) -> dict[str, str]:
        """The level, what is read beside it, and all results."""
        return {"level": "V"} | dict.fromkeys(step.also, "V") | dict(self.result_units)

    def meters(self, step: ClipFields) -> dict[str, str]:
        """The AC meter, and the DC meter where rails are read."""
        needs_rails = any(name.startswith("rail") for name in step.also)
        return {step.meter: "V"} | ({step.rail_meter: "V"} if needs_rails else {})

    def prompts(self, step: ClipFields, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """The level, then what is read while the tone is on; the 10 % level last."""
        asks = [("level", "Level just before the tops flatten")]
        order = sorted(step.also, key=lambda name: name == "level_at_ten_percent")
        asks += [(name, _ASK[name]) for name in order]
        return tuple(self._prompt(step, at, scene, name, ask) for name, ask in asks)

    def _prompt(self, step: ClipFields, at: Pass, scene: Scene, name: str, ask: str) -> Prompt:
        meter_id = step.rail_meter if name.startswith("rail") else step.meter
        meter = scene.bench.meter(meter_id)
        form = Form.DC if name.startswith("rail") else Form.RMS
        settings = (*pass_settings(at, scene), Setting("tone", f"{step.tone} sine"))
        return Prompt(
            of=at,
            kind="clip",
            point=name,
            ask=ask,
            expected=Expected(
                Answer.QUANTITY,
                "V",
                form,
                meter.title if meter else "",
                meter.ranges if meter else (),
            ),
            meter=meter_id,
            settings=settings,
            optional=name == "level_at_ten_percent" or step.optional,
            hold=holds(step.hold)[0],
            hold_for=holds(step.hold)[1],
            tone=True,
        )

    def limit(self, step: ClipFields, at: Pass, point: str) -> tuple[LimitFields | None, str]:
        """Power for a level, sag for the supply."""
        name = {"level": "power", "level_at_ten_percent": "power_at_ten_percent"}.get(point, "sag")
        return getattr(step.limits, name, None), self.result_units[name]

    def results(self, step: ClipFields, at: Pass, readings: Readings, known: Known) -> list[Result]:
        """Power, sag, ceiling, headroom, claim and balance, as far as the readings allow."""
        work = PassWork(at, known, step.limits)
        _Pass(step, readings, work).work_out()
        return work.results

    def summary(self, step: ClipFields) -> str:
        """One plain line."""
        return f"clean power at {step.tone}, just before clipping"


class _Pass:
    """The working of one pass of a clip test."""

    def __init__(self, step: ClipFields, readings: Readings, work: PassWork) -> None:
        self.step = step
        self.readings = readings
        self.work = work
        self.load = work.known.scene.bench.load(work.at.load)

    def work_out(self) -> None:
        """Everything in the order in which people ask for it."""
        clean = self._power("level", "power", "Clean level", "Clean power")
        for name in ("secondary_volts", "rail_plus", "rail_minus"):
            self._sag(name)
        self._ceiling()
        loud = self._power(
            "level_at_ten_percent", "power_at_ten_percent", "Level at 10 %", "Power at 10 %"
        )
        self._claim(clean, loud)
        self._balance()

    def _reading(self, name: str) -> Reading | None:
        reading = self.readings.get(name)
        return reading if reading is not None and reading.measure is not None else None

    def _power(
        self, point: str, name: str, level_label: str, label: str
    ) -> tuple[Uncertain, str] | None:
        from stepwise.science import load_power

        reading = self._reading(point)
        if reading is None:
            return None
        volts = self.work.read(reading, point, level_label)
        if self.load is None:
            return None
        if point == "level_at_ten_percent":
            volts = self._for_detector(volts)
        power = self.work.compute(
            name, label, "W", load_power, (volts, reading.key), (self.load.resistance, "")
        )
        return None if power is None else (power, reading.key)

    def _for_detector(self, volts: Uncertain) -> Uncertain:
        """An average-responding meter reads high on flattened tops; take that back.

        Symmetrical hard clipping to 10 % is assumed, as far as a half of the correction may be
        wrong for the rounder tops of a real stage (common practice, no source).
        """
        from stepwise.science import (
            average_meter_reading,
            clipped_mean_square,
            overdrive_for_thd,
        )

        meter = self.work.known.scene.bench.meter(self.step.meter)
        if meter is None or meter.detector is not Detector.AVERAGE:
            return volts
        overdrive = overdrive_for_thd(10.0)
        excess = average_meter_reading(overdrive) / math.sqrt(clipped_mean_square(overdrive)) - 1.0
        corrected = volts.scaled(1.0 / (1.0 + excess))
        doubt = rectangular(0.5 * excess * abs(corrected.value))
        return from_terms(
            corrected.value, [*corrected.terms.items(), ("shape of the clipped wave", doubt)]
        )

    def _sag(self, name: str) -> None:
        from stepwise.science import regulation_percent, sag_percent

        reading = self._reading(name)
        if reading is None:
            return
        loaded = self.work.read(reading, name, _ASK[name])
        idle = self.work.known.idle(name, self.work.at)
        if idle is None:
            return
        pair = ((idle.measure, idle.key or ""), (loaded, reading.key))
        self.work.compute("sag", _SAGGING[name], "%", sag_percent, *pair, point=name)
        if name == "secondary_volts":
            self.work.compute("regulation", "Regulation", "%", regulation_percent, *pair)

    def _ceiling(self) -> None:
        """The power that the lower loaded rail allows, and the swing lost below it."""
        from stepwise.science import ceiling_power, headroom_loss

        rails = [
            reading
            for name in ("rail_plus", "rail_minus")
            if (reading := self._reading(name)) is not None and reading.measure is not None
        ]
        if not rails or self.load is None:
            return
        lower = min(rails, key=lambda each: abs(each.measure.value if each.measure else 0.0))
        measure = lower.measure
        if measure is None:
            return
        height = measure.scaled(math.copysign(1.0, measure.value))
        self.work.compute(
            "ceiling", "Ceiling set by the rails", "W", ceiling_power,
            (height, lower.key), (self.load.resistance, ""),
        )  # fmt: skip
        level = self._reading("level")
        if level is not None and level.measure is not None:
            self.work.compute(
                "headroom_loss", "Swing lost below the rail", "V", headroom_loss,
                (height, lower.key), (level.measure, level.key),
            )  # fmt: skip

    def _claim(
        self, clean: tuple[Uncertain, str] | None, loud: tuple[Uncertain, str] | None
    ) -> None:
        """What was had of the claim; one at 10 % is held against the power at 10 %."""
        if self.load is None:
            return
        claim = self.work.known.scene.unit.claim_for(self.load.nominal)
        if claim is None:
            return
        is_loud = claim.distortion is not None and claim.distortion >= _LOUD_CLAIM
        had = loud if is_loud and loud is not None else clean
        if had is None:
            return
        power, key = had
        self.work.put(
            "claim_ratio", "Share of the claim", power.scaled(100.0 / claim.power), "%", (key,)
        )

    def _balance(self) -> None:
        """Clean level against the first channel's into the same load."""
        from stepwise.science import voltage_ratio_db

        at, level = self.work.at, self._reading("level")
        if level is None or level.measure is None or at.channel is None:
            return
        for other in self.work.known.by_name.get("level", ()):
            same_turn = other.step == at.step and other.load == at.load
            if same_turn and other.channel not in (None, at.channel):
                self.work.compute(
                    "channel_balance", f"Against {other.channel}", "dB", voltage_ratio_db,
                    (level.measure, level.key), (other.measure, other.key or ""),
                )  # fmt: skip
                return
