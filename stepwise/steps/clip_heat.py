"""What the stage takes from the supply at this output, and what of it becomes heat."""

from __future__ import annotations

from collections.abc import Callable

from stepwise.quantities import Uncertain
from stepwise.steps.clip_pass import ClipPass, Sourced


def work_out_heat(turn: ClipPass) -> None:
    """Enter the power taken, the efficiency, and the loss here and at its worst.

    All four count the idle current once and in full, so that output and loss add up to the
    power taken.

    Source:
        Pi = 2 Ur (Up / (pi R) + Iq), Po = Up^2 / (2 R), Pd = Pi - Po; textbook on class AB, e.g.
        Boylestad and Nashelsky chapter 12, the idle term from memory.
    """
    from stepwise.science import (
        dissipation_class_b,
        efficiency_class_b_percent,
        peak_from_rms,
        supply_power_class_b,
    )

    level, load, rail = turn.measured("level"), turn.resistance(), _mean(turn.loaded_rails())
    if level is None or load is None or rail is None:
        return

    def at(function: Callable[..., float]) -> Callable[..., float]:
        def of_rms(rail_volts: float, rms_volts: float, ohms: float, idle_amperes: float) -> float:
            return function(rail_volts, peak_from_rms(rms_volts), ohms, idle_amperes)

        return of_rms

    for name, label, unit, function in (
        ("supply_power", "Power taken from the rails", "W", supply_power_class_b),
        ("efficiency", "Efficiency of the stage", "%", efficiency_class_b_percent),
        ("dissipation", "Loss in the stage at this output", "W", dissipation_class_b),
    ):
        turn.work.compute(
            name, label, unit, at(function), turn.room(rail), level, load, _idle_current(turn)
        )
    _worst(turn, rail, level)


def _worst(turn: ClipPass, loaded: Sourced, level: Sourced) -> None:
    """The largest loss at any level, by the idle rail where it is known: an upper bound."""
    from stepwise.science import worst_dissipation

    load = turn.resistance()
    if load is not None:
        room = turn.room(_mean(turn.idle_rails()) or loaded)
        turn.work.compute(
            "worst_dissipation", "Largest loss at any level", "W", worst_dissipation,
            room, load, _idle_current(turn), also=(level[1],),
        )  # fmt: skip


def _idle_current(turn: ClipPass) -> Sourced:
    """Idle current through the stage [A]; nothing where it was not read."""
    found = turn.work.known.find("idle_current", turn.work.at)
    if found is None or found.value < 0.0:
        return Uncertain(0.0), ""
    return found.measure, found.key or ""


def _mean(rails: list[Sourced]) -> Sourced | None:
    """The mean of both heights, which share the meter's error."""
    from stepwise.quantities import propagate

    if len(rails) < 2:
        return rails[0] if rails else None
    (first, key), (second, _) = rails
    return propagate(lambda a, b: 0.5 * (a + b), first, second), key
