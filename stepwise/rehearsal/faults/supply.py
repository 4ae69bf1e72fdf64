"""Faults of the supply: transformer, rectifier, reservoirs, fuses."""

from __future__ import annotations

from dataclasses import replace

from stepwise.rehearsal.amplifier import Channel
from stepwise.rehearsal.faults.fault import CLEAR, Fault, Whose
from stepwise.rehearsal.rig import Rig
from stepwise.rehearsal.supply import DualSupply


def _with_supply(rig: Rig, supply: DualSupply) -> Rig:
    return replace(rig, board=replace(rig.board, supply=supply))


def _weak_transformer(rig: Rig, severity: float) -> Rig:
    """Rails that fall by far more than they should."""
    supply = rig.board.supply
    weaker = supply.regulation * (1.0 + 6.0 * severity)
    # The no-load volts stay: a good-looking idle rail is what deceives the buyer.
    ratio = supply.mains_ratio * (1.0 + supply.regulation) / (1.0 + weaker)
    return _with_supply(rig, replace(supply, regulation=weaker, mains_ratio=ratio))


def _weak_rail(rig: Rig, severity: float) -> Rig:
    """Up to 1.2 ohm in the negative rail: a corroded joint, a tired diode."""
    return _with_supply(rig, replace(rig.board.supply, minus_extra_ohms=1.2 * severity))


def _dried_reservoir(rig: Rig, severity: float) -> Rig:
    """Down to a fourteenth of its capacitance, up to twenty times its series resistance."""
    supply = rig.board.supply
    dried = replace(
        supply,
        reservoir_farads=supply.reservoir_farads * 14.0**-severity,
        reservoir_ohms=supply.reservoir_ohms * 20.0**severity,
        wiring_ohms=supply.wiring_ohms + supply.reservoir_ohms * (20.0**severity - 1.0),
    )
    return _with_supply(rig, dried)


def _leaky_reservoir(rig: Rig, severity: float) -> Rig:
    """Up to 0.25 A through the positive reservoir: some eight watts of heat in it."""
    return _with_supply(rig, replace(rig.board.supply, plus_leak_amps=0.25 * severity))


def _blown_rail_fuse(rig: Rig, severity: float) -> Rig:
    """The last channel without its negative rail; its output is pulled up by the other."""

    def change(channel: Channel) -> Channel:
        return replace(channel, minus_fuse_whole=False, offset_volts=2.0 + 10.0 * severity)

    return rig.with_last_channel(change)


def _charged_reservoirs(rig: Rig, severity: float) -> Rig:
    """Discharged for too short a time: up to nine tenths of the idle rail are left."""
    left = 0.9 * severity * rig.board.idle().plus.mean_volts
    return replace(rig, board=replace(rig.board, bleed_volts=max(left, rig.board.bleed_volts)))


SUPPLY_FAULTS = (
    Fault(
        "weak-transformer",
        Whose.SUPPLY,
        "transformer too weak for its marking: idle rails look good, sag under load",
        ("transformer-limit", "supply-sag"),
        _weak_transformer,
        stated=CLEAR,
    ),
    Fault(
        "weak-rail",
        Whose.SUPPLY,
        "resistance in the negative rail: it falls before the positive one",
        ("one-rail-weak",),
        _weak_rail,
        stated=CLEAR,
    ),
    Fault(
        "dried-reservoir",
        Whose.SUPPLY,
        "reservoirs dried out: deep ripple, the swing ends far below the rail's mean",
        ("swing-lost", "reservoir-weak"),
        _dried_reservoir,
    ),
    Fault(
        "leaky-reservoir",
        Whose.SUPPLY,
        "positive reservoir leaks: it gets hot, its rail stands lower at idle",
        ("too-hot", "one-rail-weak"),
        _leaky_reservoir,
        procedure="thermal-soak",
    ),
    Fault(
        "charged-reservoirs",
        Whose.SUPPLY,
        "bleeders open and the discharge too short: the rails stay up after switching off",
        ("reservoirs-live",),
        _charged_reservoirs,
        stated=CLEAR,
    ),
    Fault(
        "blown-rail-fuse",
        Whose.SUPPLY,
        "negative rail fuse of the last channel blown: no signal, high direct voltage",
        ("dc-offset", "one-rail-weak"),
        _blown_rail_fuse,
        stated=CLEAR,
    ),
)
"""In the order in which they are listed."""
