"""Clean power, power at 10 %, and what they are held against.

Power is that of the level that the person set, and its ± is that of the meter and the load. That
the eye stops up to 2 % below clipping (common practice, no source) is no part of it: the error
has one side, so what was read was delivered, clean, whatever else the board might have given. A
wider ± would call a power that was had too close to call, and a shifted value would claim one that
nobody read. A report says so beside its powers; where two runs are compared, each set anew, the
eye counts (`archive.occasion`).
"""

from __future__ import annotations

import math
from functools import cache

from stepwise.bench import Detector
from stepwise.quantities import (
    Uncertain,
    format_value,
    from_terms,
    rectangular,
    within_limits,
)
from stepwise.steps.clip_claim import work_out_share
from stepwise.steps.clip_pass import ClipPass, Sourced

_TEN_PERCENT = 10.0

Powers = tuple[Sourced | None, Sourced | None]
"""Clean power and power at 10 % [W]."""


def work_out_power(turn: ClipPass) -> Powers:
    """Enter both levels and the powers that they are; gives the powers back."""
    clean_volts = _level(turn, "level", "Clean level")
    clean = _power(turn, clean_volts, "power", "Clean power")
    loud_volts = _level(turn, "level_at_ten_percent", "Level at 10 %")
    loud = _power(turn, loud_volts, "power_at_ten_percent", "Power at 10 %")
    if clean_volts is not None and loud_volts is not None:
        _ratio(turn, clean_volts, loud_volts)
    return clean, loud


def work_out_comparisons(turn: ClipPass, powers: Powers) -> None:
    """Enter the share of the claim, the distance to the noise, and the balance of channels."""
    work_out_share(turn, *powers)
    _noise(turn)
    _balance(turn)


def _level(turn: ClipPass, point: str, label: str) -> Sourced | None:
    reading = turn.reading(point)
    if reading is None:
        return None
    volts = turn.work.read(reading, point, label)
    # what was captured is RMS already, whatever the meter makes of flattened tops
    is_rms = point == "level" or reading.is_captured
    return (volts if is_rms else _for_detector(turn, volts)), reading.key


def _power(turn: ClipPass, volts: Sourced | None, name: str, label: str) -> Sourced | None:
    from stepwise.science import load_power

    load = turn.resistance()
    if volts is None or load is None:
        return None
    power = turn.work.compute(name, label, "W", load_power, volts, load)
    return None if power is None else (power, volts[1])


def _for_detector(turn: ClipPass, volts: Uncertain) -> Uncertain:
    """An average-responding meter reads high on flattened tops; take that back.

    Symmetrical hard clipping to 10 % is assumed, as far as a half of the correction may be
    wrong for the rounder tops of a real stage (common practice, no source).
    """
    meter = turn.work.known.scene.bench.meter(turn.meter)
    if meter is None or meter.detector is not Detector.AVERAGE:
        return volts
    excess = _reads_high_by()
    corrected = volts.scaled(1.0 / (1.0 + excess))
    doubt = rectangular(0.5 * excess * abs(corrected.value))
    shape = within_limits("shape of the clipped wave")
    return from_terms(corrected.value, [*corrected.terms.items(), (shape, doubt)])


@cache  # two searches among harmonics for one number, wanted again in every pass
def _reads_high_by() -> float:
    """How far an average-responding meter is above the RMS of a wave clipped to 10 % [1]."""
    from stepwise.science import (
        average_meter_reading,
        clipped_mean_square,
        overdrive_for_thd,
    )

    overdrive = overdrive_for_thd(_TEN_PERCENT)
    return average_meter_reading(overdrive) / math.sqrt(clipped_mean_square(overdrive)) - 1.0


@cache
def _textbook_ratio() -> str:
    """Power at 10 % over clean power with hard clipping on stiff rails, in figures."""
    from stepwise.science import power_ratio_for_thd

    return format_value(power_ratio_for_thd(_TEN_PERCENT), "", digits=3)


def _ratio(turn: ClipPass, clean: Sourced, loud: Sourced) -> None:
    """Power at 10 % over clean power, beside what hard clipping on stiff rails gives."""
    from stepwise.science import power_ratio_of_volts

    turn.work.compute(
        "ten_percent_ratio", f"Power at 10 % over clean (hard clipping: {_textbook_ratio()})", "",
        power_ratio_of_volts, loud, clean,
    )  # fmt: skip


def _noise(turn: ClipPass) -> None:
    """Clean level over the noise that was read without signal, unweighted."""
    from stepwise.science import signal_to_noise_db

    level = turn.measured("level")
    noise = turn.work.known.find("residual_noise", turn.work.at)
    if level is not None and noise is not None:
        turn.work.compute(
            "signal_to_noise", "Clean level over residual noise", "dB", signal_to_noise_db,
            level, (noise.measure, noise.key or ""),
        )  # fmt: skip


def _balance(turn: ClipPass) -> None:
    """Clean level against the first channel's into the same load: tops that end at rails."""
    from stepwise.science import voltage_ratio_db

    at, level = turn.work.at, turn.measured("level")
    if level is None or at.channel is None:
        return
    for other in turn.work.known.by_name.get("level", ()):
        same_turn = other.step == at.step and other.load == at.load
        if same_turn and other.channel not in (None, at.channel):
            turn.work.compute(
                "channel_balance", f"Clean level against {other.channel}", "dB", voltage_ratio_db,
                level, turn.on_its_mains((other.measure, other.key or "")),
            )  # fmt: skip
            return
