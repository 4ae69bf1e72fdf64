"""Faults that a rehearsal can be given: each changes what is true of the board, no reading.

What the fault shows in the sheet follows from the physics. A new fault is one function and one
line in `FAULTS`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from stepwise.errors import StepwiseError
from stepwise.rehearsal.amplifier import Channel
from stepwise.rehearsal.board import Board


class UnknownFault(StepwiseError, ValueError):
    """A fault that cannot be rehearsed."""

    def __init__(self, name: str, known: tuple[str, ...]) -> None:
        self.name = name
        self.known = known
        super().__init__(name, known)

    def __str__(self) -> str:
        return f"there is no fault “{self.name}”; there are {', '.join(self.known)}"


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault."""

    name: str
    summary: str
    """What is wrong with the board, and where it will show."""
    apply: Callable[[Board, float], Board]
    """The board and a severity from 0 (nothing) to 1 (plain to see) -> the faulty board."""


def _each_channel(board: Board, change: Callable[[Channel], Channel]) -> Board:
    return replace(board, channels=tuple(change(channel) for channel in board.channels))


def _small_coupling_capacitor(board: Board, severity: float) -> Board:
    """Towards 0.27 µF, by ratio: a corner near 26 Hz with 22 kilohms."""

    def change(channel: Channel) -> Channel:
        farads = channel.coupling_farads ** (1.0 - severity) * 0.27e-6**severity
        return replace(channel, coupling_farads=farads)

    return _each_channel(board, change)


def _claim_not_met(board: Board, severity: float) -> Board:
    """A transformer too weak for its marking: the rails fall by far more than they should."""
    weaker = board.supply.regulation * (1.0 + 6.0 * severity)
    # The no-load volts stay: a good-looking idle rail is what deceives the buyer.
    ratio = board.supply.mains_ratio * (1.0 + board.supply.regulation) / (1.0 + weaker)
    return replace(board, supply=replace(board.supply, regulation=weaker, mains_ratio=ratio))


def _dc_offset(board: Board, severity: float) -> Board:
    """Up to 0.18 V at the first channel."""
    first, *others = board.channels
    faulty = replace(first, offset_volts=first.offset_volts + 0.18 * severity)
    return replace(board, channels=(faulty, *others))


def _hot_heatsink(board: Board, severity: float) -> Board:
    """Idle current too high, and a heatsink that was screwed on without compound."""
    resistance = board.cooling.heatsink_kelvin_per_watt * (1.0 + 0.8 * severity)
    cooling = replace(board.cooling, heatsink_kelvin_per_watt=resistance)
    hotter = replace(board, cooling=cooling)

    def change(channel: Channel) -> Channel:
        return replace(channel, quiescent_amps=channel.quiescent_amps * (1.0 + 4.0 * severity))

    return _each_channel(hotter, change)


def _missing_output_inductor(board: Board, severity: float) -> Board:
    """Inductor bridged or left out: a capacitor across the load reaches into the loop."""

    def change(channel: Channel) -> Channel:
        return replace(channel, inductor_henries=channel.inductor_henries * (1.0 - severity))

    return _each_channel(board, change)


FAULTS: Mapping[str, Fault] = MappingProxyType(
    {
        fault.name: fault
        for fault in (
            Fault(
                "small-coupling-capacitor",
                "input coupling capacitor too small: the bass rolls off early, low square"
                " waves tilt",
                _small_coupling_capacitor,
            ),
            Fault(
                "claim-not-met",
                "transformer too weak: rails sag, the claimed power is not reached",
                _claim_not_met,
            ),
            Fault("dc-offset", "direct voltage at the first channel's output", _dc_offset),
            Fault(
                "hot-heatsink",
                "idle current too high and heatsink badly mounted: it runs hot",
                _hot_heatsink,
            ),
            Fault(
                "missing-output-inductor",
                "output inductor left out: square waves ring with a capacitor across the load",
                _missing_output_inductor,
            ),
        )
    }
)
"""Name -> fault."""


def with_faults(board: Board, faults: Sequence[tuple[str, float]]) -> Board:
    """The board with faults, in the order given.

    Args:
        board: As it would be without.
        faults: Names with severities, each 0 to 1.

    Raises:
        UnknownFault: There is no fault of that name.
        ValueError: A severity is not from 0 to 1.
    """
    for name, severity in faults:
        fault = FAULTS.get(name)
        if fault is None:
            raise UnknownFault(name, tuple(FAULTS))
        if not 0.0 <= severity <= 1.0:
            raise ValueError(f"the severity of {name} is from 0 to 1, not {severity:g}")
        board = fault.apply(board, severity)
    return board
