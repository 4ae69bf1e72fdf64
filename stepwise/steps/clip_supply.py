"""What the supply does while the tone is on, and how much output it allows."""

from __future__ import annotations

from collections.abc import Callable

from stepwise.quantities import (
    from_terms,
    propagate,
    rectangular,
    within_limits,
)
from stepwise.steps.clip_pass import ASK, ClipPass, Sourced, fact

_SAGGING = {
    "secondary_volts": "Sag of the secondary",
    "rail_plus": "Sag of the positive rail",
    "rail_minus": "Sag of the negative rail",
}
_DIODE_VOLTS = 0.9
_DIODE_DOUBT = 0.3
"""[V] A rectifier's drop lies within this of 0.9 V: common practice, no source."""
_REGULATION_DOUBT = 0.2
"""Share by which a stated regulation may be off [1]: common practice, no source."""


def work_out_supply(turn: ClipPass) -> None:
    """Enter sag, ceilings, currents and margins, as far as there is something to go by."""
    for name in _SAGGING:
        _sag(turn, name)
    _ceiling(turn)
    _predicted_ceiling(turn)
    _currents(turn)
    _margins(turn)


def _sag(turn: ClipPass, name: str) -> None:
    from stepwise.science import regulation_percent, sag_percent

    reading = turn.reading(name)
    if reading is None:
        return
    loaded = turn.work.read(reading, name, ASK[name])
    idle = turn.idle(name)
    if idle is None:
        return
    pair = (turn.on_its_mains(idle), (loaded, reading.key))
    turn.work.compute("sag", _SAGGING[name], "%", sag_percent, *pair, point=name)
    if name == "secondary_volts":
        turn.work.compute("regulation", "Regulation", "%", regulation_percent, *pair)


def _ceiling(turn: ClipPass) -> None:
    """The power that the lower loaded rail allows, and the swing lost below it.

    Rail and level are of one pass, and so of one mains.
    """
    from stepwise.science import ceiling_power, headroom_loss

    rails, load = turn.loaded_rails(), turn.resistance()
    if not rails or load is None:
        return
    room = turn.room(min(rails, key=lambda rail: rail[0].value))
    turn.work.compute("ceiling", "Ceiling set by the rails", "W", ceiling_power, room, load)
    level = turn.measured("level")
    if level is not None:
        turn.work.compute(
            "headroom_loss", "Swing lost below the rail", "V", headroom_loss, room, level
        )


def _predicted_ceiling(turn: ClipPass) -> None:
    """The power that the transformer allows by its idle volts, before the stage loses any.

    It is held against what was had in this pass, so the idle volts are taken to its mains.
    """
    from stepwise.science import LinearSupply, predicted_ceiling

    winding, capacitance = turn.idle("secondary_volts"), turn.reservoir()
    load, source = turn.resistance(), _source_ohms(turn)
    level = turn.measured("level")
    if winding is None or capacitance is None or load is None or source is None or level is None:
        return
    # A rail of its own needs a winding of its own: the model is that of a dual supply.
    if turn.supply.windings < 2 or turn.swings_half_a_rail:
        return
    hertz = turn.supply.mains_hertz

    def power(volts: float, ohms: float, farads: float, drop: float, load_ohms: float) -> float:
        supply = LinearSupply(volts, ohms, farads, hertz, drop)
        return predicted_ceiling(supply, load_ohms).power_watts

    diode = from_terms(_DIODE_VOLTS, [(within_limits("rectifier drop"), rectangular(_DIODE_DOUBT))])
    turn.work.compute(
        "predicted_ceiling", "Ceiling that the transformer allows", "W", power,
        turn.on_its_mains(winding), source, (capacitance, ""), (diode, ""), load, also=(level[1],),
    )  # fmt: skip


def _source_ohms(turn: ClipPass) -> Sourced | None:
    """What a rail falls by for each ampere: by the transformer's rating, else as it fell here."""
    return _stated_source(turn) or _seen_source(turn)


def _stated_source(turn: ClipPass) -> Sourced | None:
    from stepwise.science import transformer_source_ohms

    supply, winding = turn.supply, turn.idle("secondary_volts")
    if supply.regulation is None or supply.rating is None or winding is None:
        return None
    rating, windings = supply.rating, supply.windings
    doubt = rectangular(_REGULATION_DOUBT * supply.regulation)
    regulation = from_terms(supply.regulation, [(within_limits("stated regulation"), doubt)])

    def ohms(idle_volts: float, percent: float) -> float:
        rated_volts = idle_volts / (1.0 + percent / 100.0)
        return transformer_source_ohms(rated_volts, rating, percent, windings)

    return _had(ohms, turn.on_its_mains(winding), (regulation, ""), key=winding[1])


def _seen_source(turn: ClipPass) -> Sourced | None:
    from stepwise.science import seen_source_ohms

    idle, loaded = turn.idle("secondary_volts"), turn.measured("secondary_volts")
    current = _rail_current(turn)
    if idle is None or loaded is None or current is None or loaded[0].value > idle[0].value:
        return None
    return _had(seen_source_ohms, turn.on_its_mains(idle), loaded, current, key=loaded[1])


def _rail_current(turn: ClipPass) -> Sourced | None:
    from stepwise.science import average_rail_current, peak_from_rms

    level, load = turn.measured("level"), turn.resistance()
    if level is None or load is None:
        return None

    def current(volts: float, ohms: float) -> float:
        return average_rail_current(peak_from_rms(volts), ohms)

    return _had(current, level, load, key=level[1])


def _had(function: Callable[..., float], *inputs: Sourced, key: str) -> Sourced | None:
    """What a formula makes of readings; None where it has no meaning for them.

    A winding that is dead and a channel that gives nothing are readings like any other.
    """
    try:
        return propagate(function, *(measure for measure, _ in inputs)), key
    except ValueError:
        return None


def _currents(turn: ClipPass) -> None:
    """Peak in the load, mean from each rail, ripple that it leaves, burden of the transformer."""
    from stepwise.science import peak_load_current, ripple_peak_to_peak

    level, load, current = turn.measured("level"), turn.resistance(), _rail_current(turn)
    if level is None or load is None or current is None:
        return
    turn.work.compute("peak_current", "Peak current", "A", peak_load_current, level, load)
    turn.work.put("supply_current", "Mean current of a rail", current[0], "A", (current[1],))
    capacitance = turn.reservoir()
    if capacitance is not None:
        turn.work.compute(
            "predicted_ripple", "Ripple to expect on a rail, peak-to-peak", "V",
            ripple_peak_to_peak, current, (capacitance, ""), fact(turn.supply.mains_hertz),
        )  # fmt: skip
    _transformer(turn, current)


def _transformer(turn: ClipPass, current: Sourced) -> None:
    """How much of its rating the transformer gives, this one channel driven."""
    from stepwise.science import transformer_load_percent

    supply = turn.supply
    winding = turn.measured("secondary_volts") or turn.idle("secondary_volts")
    if winding is None and supply.secondary is not None:
        winding = fact(supply.secondary)
    if winding is None or supply.rating is None:
        return
    windings = 1 if turn.swings_half_a_rail else supply.windings

    def percent(volts: float, amperes: float, rating: float) -> float:
        return transformer_load_percent(volts, amperes, rating, windings)

    turn.work.compute(
        "transformer_load", "Load of the transformer, of its rating", "%", percent,
        winding, current, fact(supply.rating),
    )  # fmt: skip


def _margins(turn: ClipPass) -> None:
    """What is left at 10 % more mains; once for a channel, as loads have no part in it."""
    from stepwise.science import reservoir_margin_percent

    rails, loads = turn.idle_rails(), turn.work.known.scene.loads()
    if not rails or not loads or turn.work.at.load != loads[0].label:
        return
    higher = max(rails, key=lambda rail: rail[0].value)
    for name, rating, label in (
        ("reservoir_margin", "reservoir_rating", "Margin of the reservoirs at 10 % more mains"),
        ("stage_margin", "maximum_supply", "Margin of the stage at 10 % more mains"),
    ):
        stated = turn.rated(rating)
        if stated is not None:
            turn.work.compute(name, label, "%", reservoir_margin_percent, fact(stated), higher)
