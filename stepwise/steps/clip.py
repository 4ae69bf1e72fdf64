"""`clip`: the cleanest power, just before the tops flatten, and what the supply does."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import ClassVar, Literal

import msgspec

from stepwise.judge import LimitFields, Result
from stepwise.quantities import Answer, Expected, Form
from stepwise.steps.check import Checker
from stepwise.steps.clip_claim import claim_limits
from stepwise.steps.clip_heat import work_out_heat
from stepwise.steps.clip_pass import ASK, ClipPass
from stepwise.steps.clip_power import work_out_comparisons, work_out_power
from stepwise.steps.clip_supply import work_out_supply
from stepwise.steps.fields import FrequencyText, StepFields
from stepwise.steps.kind import NeededMeter, Readings, StepKind, holds, pass_settings
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Prompt, Setting
from stepwise.steps.scene import Scene
from stepwise.steps.work import PassWork

Also = Literal["secondary_volts", "rail_plus", "rail_minus", "level_at_ten_percent"]

_RESULT_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "power": "W",
        "power_at_ten_percent": "W",
        "ten_percent_ratio": "",
        "sag": "%",
        "regulation": "%",
        "ceiling": "W",
        "headroom_loss": "V",
        "predicted_ceiling": "W",
        "peak_current": "A",
        "supply_current": "A",
        "predicted_ripple": "V",
        "transformer_load": "%",
        "reservoir_margin": "%",
        "stage_margin": "%",
        "supply_power": "W",
        "efficiency": "%",
        "dissipation": "W",
        "worst_dissipation": "W",
        "claim_ratio": "%",
        "signal_to_noise": "dB",
        "channel_balance": "dB",
    }
)


class ClipLimits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Limits on what a clip test shows, by result name."""

    power: LimitFields | None = None
    power_at_ten_percent: LimitFields | None = None
    ten_percent_ratio: LimitFields | None = None
    sag: LimitFields | None = None
    regulation: LimitFields | None = None
    ceiling: LimitFields | None = None
    headroom_loss: LimitFields | None = None
    predicted_ceiling: LimitFields | None = None
    peak_current: LimitFields | None = None
    supply_current: LimitFields | None = None
    predicted_ripple: LimitFields | None = None
    transformer_load: LimitFields | None = None
    reservoir_margin: LimitFields | None = None
    stage_margin: LimitFields | None = None
    supply_power: LimitFields | None = None
    efficiency: LimitFields | None = None
    dissipation: LimitFields | None = None
    worst_dissipation: LimitFields | None = None
    claim_ratio: LimitFields | None = None
    signal_to_noise: LimitFields | None = None
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
    result_units: ClassVar[Mapping[str, str]] = _RESULT_UNITS

    def check(self, step: ClipFields, checker: Checker) -> None:
        """Tone, times, limits; a level into no load is no power."""
        checker.positive(("tone",), step.tone, "Hz")
        if "load" not in step.repeat:
            checker.add(
                ("repeat",), "a clip test needs a load", 'write repeat = ["channel", "load"]'
            )
        if step.limits is not None:
            checker.limits(step.limits, self.result_units)

    def names(self, step: ClipFields) -> dict[str, str]:
        """The level, what is read beside it, and all results."""
        return {"level": "V"} | dict.fromkeys(step.also, "V") | dict(self.result_units)

    def meters(self, step: ClipFields) -> tuple[NeededMeter, ...]:
        """The AC meter, and the DC meter where rails are read."""
        needs_rails = any(name.startswith("rail") for name in step.also)
        rails = (NeededMeter(step.rail_meter, "V"),) if needs_rails else ()
        return NeededMeter(step.meter, "V"), *rails

    def prompts(self, step: ClipFields, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """The level, then what is read while the tone is on; the 10 % level last."""
        asks = [("level", "Level just before the tops flatten")]
        order = sorted(step.also, key=lambda name: name == "level_at_ten_percent")
        asks += [(name, ASK[name]) for name in order]
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
                is_sine=name != "level_at_ten_percent",
            ),
            meter=meter_id,
            settings=settings,
            optional=name == "level_at_ten_percent" or step.optional,
            **holds(step.hold),
            tone=True,
        )

    def in_pass(self, step: ClipFields, at: Pass, scene: Scene) -> ClipFields:
        """With the limit that names the claim at the power that the claim is about."""
        limits = claim_limits(step.limits, scene.claim(at.load))
        return step if limits is step.limits else msgspec.structs.replace(step, limits=limits)

    def limit(self, step: ClipFields, at: Pass, point: str) -> tuple[LimitFields | None, str]:
        """Power for a level, sag for the supply."""
        name = {"level": "power", "level_at_ten_percent": "power_at_ten_percent"}.get(point, "sag")
        return getattr(step.limits, name, None), self.result_units[name]

    def results(self, step: ClipFields, at: Pass, readings: Readings, known: Known) -> list[Result]:
        """Power, supply, heat, claim, noise and balance, as far as the readings allow."""
        limits = self.in_pass(step, at, known.scene).limits
        turn = ClipPass(step.meter, readings, PassWork(at, known, limits))
        power = work_out_power(turn)
        work_out_supply(turn)
        work_out_heat(turn)
        work_out_comparisons(turn, power)
        return turn.work.results

    def summary(self, step: ClipFields) -> str:
        """One plain line."""
        return f"clean power at {step.tone}, just before clipping"
