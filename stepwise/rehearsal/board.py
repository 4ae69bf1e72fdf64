"""The simulated board: everything that is true of it, drawn once, then fixed.

The person at the bench knows none of this; the instruments show it as well as they can.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from stepwise.bench import Supply
from stepwise.rehearsal.amplifier import Channel
from stepwise.rehearsal.chance import Chance
from stepwise.rehearsal.heat import Cooling
from stepwise.rehearsal.operation import Stage, Working
from stepwise.rehearsal.supply import DualSupply

_CAPACITORS = (1.0e-6, 1.2e-6, 1.5e-6)
"""What designers of such boards put in front of 22 kilohms [F]."""
_USUAL_SECONDARY = 24.0
_USUAL_RATING = 160.0


@dataclass(frozen=True, slots=True)
class Board:
    """One board with the transformer that feeds it."""

    name: str
    supply: DualSupply
    channels: tuple[Channel, ...]
    cooling: Cooling = field(default_factory=Cooling)
    switch_on_delay_s: float = 2.4
    """From switching on until the output relay closes [s]."""
    quiet_after_s: float = 0.2
    """From switching off until the output is silent or disconnected [s]."""
    bleed_volts: float = 0.3
    """Left on a rail when the person takes it for discharged [V]."""

    def channel(self, name: str | None) -> Channel:
        """The channel of that name; the first where none is named."""
        return next((each for each in self.channels if each.name == name), self.channels[0])

    @property
    def idle_amps(self) -> float:
        """Taken from each rail by all channels without signal [A]."""
        return sum(channel.quiescent_amps for channel in self.channels)

    def on_mains(self, ratio: float) -> Board:
        """The same board while the mains stands a little higher or lower.

        Args:
            ratio: Of the mains now to what it was [1].
        """
        supply = replace(self.supply, mains_ratio=self.supply.mains_ratio * ratio)
        return replace(self, supply=supply)

    def stage(self, name: str | None, load_ohms: float) -> Stage:
        """One channel with a load, the others idling."""
        return Stage(self.channel(name), self.supply, load_ohms, self.idle_amps)

    def idle(self) -> Working:
        """No signal at all."""
        return self.stage(None, 1e9).at(0.0)


def good_board(
    seed: int,
    *,
    name: str = "Teal",
    channels: tuple[str, ...] = ("left", "right"),
    supply: Supply | None = None,
    input_ohms: float = 22e3,
) -> Board:
    """A sound board with the small differences that sound boards have.

    Args:
        seed: Of all that is left to chance.
        name: The unit's.
        channels: Their names, in order.
        supply: What the bench says of its transformer.
        input_ohms: Input resistance as rated [ohm].

    Returns:
        A board that meets ordinary claims for its transformer.
    """
    chance = Chance(seed)
    capacitor = _CAPACITORS[int(chance.uniform("capacitor", 0.0, len(_CAPACITORS)))]
    gain = chance.uniform("gain", 26.0, 30.0)
    return Board(
        name=name,
        supply=_supply(chance, supply or Supply()),
        channels=tuple(_channel(chance, each, gain, capacitor, input_ohms) for each in channels),
        cooling=Cooling(
            ambient_celsius=chance.uniform("ambient", 19.0, 24.0),
            heatsink_kelvin_per_watt=chance.around("heatsink", 0.7, 0.08),
        ),
        switch_on_delay_s=chance.uniform("delay", 1.5, 3.5),
        bleed_volts=chance.uniform("bleed", 0.1, 0.6),
    )


def _supply(chance: Chance, stated: Supply) -> DualSupply:
    return DualSupply(
        secondary_volts=stated.secondary or _USUAL_SECONDARY,
        rating_va=stated.rating or _USUAL_RATING,
        windings=max(stated.windings, 2),
        regulation=chance.uniform("regulation", 0.05, 0.065),
        mains_ratio=chance.uniform("mains", 0.985, 1.01),
        second_winding_ratio=chance.around("second winding", 1.0, 0.003),
        minus_extra_volts=chance.uniform("bridge", -0.08, 0.08),
        reservoir_farads=chance.uniform("reservoir", 9e-3, 11e-3),
        mains_hertz=stated.mains_hertz,
    )


def _channel(
    chance: Chance, name: str, gain: float, capacitor: float, input_ohms: float
) -> Channel:
    def near(what: str, value: float, tolerance: float) -> float:
        return chance.around(f"{name} {what}", value, tolerance)

    plain = Channel(name)
    return Channel(
        name,
        gain=near("gain", gain, 0.01),
        input_ohms=near("input", input_ohms, 0.01),
        coupling_farads=near("capacitor", capacitor, 0.05),
        input_filter_hertz=near("filter", plain.input_filter_hertz, 0.06),
        loop_hertz=near("loop", plain.loop_hertz, 0.05),
        second_pole_hertz=near("second pole", plain.second_pole_hertz, 0.05),
        wiring_ohms=near("wiring", plain.wiring_ohms, 0.15),
        drop_plus_volts=near("upper drop", plain.drop_plus_volts, 0.05),
        drop_minus_volts=near("lower drop", plain.drop_minus_volts, 0.05),
        quiescent_amps=near("idle", plain.quiescent_amps, 0.2),
        offset_volts=0.02 * chance.uniform(f"{name} offset"),
        noise_volts=near("noise", plain.noise_volts, 0.2),
        thump_volts=near("thump", plain.thump_volts, 0.4),
    )
