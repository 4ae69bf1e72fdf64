"""Readings that procedures name, and what the simulated board has there.

The names are those of the shipped procedures. A name that is not known has no answer: the
rehearsal never makes a value up.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stepwise.rehearsal.amplifier import Channel, Circuit
from stepwise.rehearsal.board import Board
from stepwise.rehearsal.chance import Chance
from stepwise.rehearsal.heat import Warmth
from stepwise.rehearsal.meters import Instruments

_EASY_VOLTS = 2.83
"""Level at which gain and source resistance are read: 1 W into 8 ohm [V RMS]."""
_SOAK = 10.0 ** (-9.0 / 20.0)
"""An eighth of the clean power, as a ratio of volts [1]."""
_LAMP_RATIO = 0.93
"""Rails while a lamp in the feed takes its share, over the rails without it [1]."""
_IDLE_PER_KELVIN = 0.004
"""Rise of the idle current with the heatsink [1/K] (common practice, no source)."""
_IDLE_PER_DEVICE_KELVIN = 0.03
"""Its rise with what the power devices stand above the heatsink, where the bias is set by a
sensor on the heatsink that knows nothing of it [1/K] (common practice, no source)."""
_DEAD_RAIL = -0.06
"""What a meter finds on a rail whose fuse has blown [V]."""
_OFFSET_PER_KELVIN = 30e-6
"""Drift of the offset with the heatsink [V/K] (common practice, no source)."""
_OSCILLATOR_VOLTS = 1.0


@dataclass(frozen=True, slots=True)
class Spot:
    """Where and when a named reading is taken."""

    board: Board
    instruments: Instruments
    warmth: Warmth
    device_rise: float
    """Of the power devices above the heatsink, when the tone went off [K]."""
    channel: Channel
    one_channel: bool
    """The prompt is about one channel, not the whole board."""
    load_ohms: float | None
    hertz: float
    averaging: bool
    """The AC meter follows the rectified mean."""
    board_chance: Chance
    """Of what is true of the board on whatever bench it stands."""

    def draw(self, name: str, low: float, high: float) -> float:
        """Chance for what the bench does not settle otherwise."""
        return self.instruments.chance.uniform(name, low, high)

    def draw_of_board(self, name: str, low: float, high: float) -> float:
        """Chance for what the board does not settle otherwise."""
        return self.board_chance.uniform(name, low, high)

    def output_volts(self, load_ohms: float | None) -> float:
        """Output with the oscillator left where it gives 2.83 V without load [V RMS]."""
        source = self.instruments.source_ohms()
        loaded = abs(self.channel.response(self.hertz, Circuit(load_ohms, source)))
        return _EASY_VOLTS * loaded / self._open_gain()

    def input_volts(self) -> float:
        """At the input terminals, at that same setting [V RMS]."""
        source = self.instruments.source_ohms()
        return _EASY_VOLTS / self._open_gain() * self.channel.terminal_share(source)

    @property
    def is_mute(self) -> bool:
        """Whether the channel gives no signal that could be read."""
        return not self.channel.minus_fuse_whole

    def _open_gain(self) -> float:
        circuit = Circuit(None, self.instruments.source_ohms())
        return abs(self.channel.response(self.hertz, circuit))

    def load(self, label: str) -> float | None:
        """True resistance of a load [ohm]."""
        return self.instruments.load_ohms(label)

    def heatsink_rise(self) -> float:
        """Kelvins above the room."""
        return self.warmth.rise["heatsink"]


@dataclass(frozen=True, slots=True)
class Known:
    """One name of the vocabulary."""

    unit: str
    """SI unit that the name stands for."""
    value: Callable[[Spot], float | None]
    """None where this bench cannot tell."""


def named_value(name: str, unit: str, spot: Spot) -> float | None:
    """What an instrument without error would show.

    Args:
        name: As the procedure calls it; a channel's name may end it ("offset_left").
        unit: SI unit that the prompt expects.
        spot: Where it is read.

    Returns:
        The value [SI], or None for a name, or a name with a unit, that is not known.
    """
    known = VOCABULARY.get(name)
    if known is None or known.unit != unit:
        return None
    if spot.is_mute and name in SIGNALS:
        return None
    return known.value(spot)


def _secondary(spot: Spot, *, second: bool) -> float:
    return spot.board.supply.secondary(
        spot.board.idle().plus, average=spot.averaging, second=second
    )


def _rail_plus(spot: Spot) -> float:
    return spot.board.idle().plus.mean_volts


def _rail_minus(spot: Spot) -> float:
    if spot.one_channel and not spot.channel.minus_fuse_whole:
        return _DEAD_RAIL
    return -spot.board.idle().minus.mean_volts


def _idle_amps(spot: Spot) -> float:
    return spot.channel.quiescent_amps if spot.one_channel else spot.board.idle_amps


def _idle_amps_hot(spot: Spot) -> float:
    rise = _IDLE_PER_KELVIN * spot.heatsink_rise() + _IDLE_PER_DEVICE_KELVIN * spot.device_rise
    return _idle_amps(spot) * (1.0 + rise)


def _noise(spot: Spot) -> float:
    return _channel_noise(spot.channel)


def _ripple(spot: Spot) -> float:
    """As RMS of the sawtooth that the reservoir draws."""
    return spot.board.idle().plus.ripple_volts / (2.0 * math.sqrt(3.0))


def _soak_level(spot: Spot) -> float:
    stage = spot.board.stage(spot.channel.name, spot.load_ohms or 8.0)
    return stage.clean().rms_volts * _SOAK


def _undriven_volts(spot: Spot) -> float:
    """What the other channel hears of this one at the easy level, with that one's own noise."""
    level_db = spot.draw_of_board(f"{spot.channel.name} crosstalk", -75.0, -60.0)
    others = [each for each in spot.board.channels if each.name != spot.channel.name]
    noise = max((_channel_noise(each) for each in others), default=0.0)
    return math.hypot(_EASY_VOLTS * 10.0 ** (level_db / 20.0), noise)


def _channel_noise(channel: Channel) -> float:
    return math.hypot(channel.noise_volts, channel.oscillation_volts)


def _lead_ohms(spot: Spot) -> float:
    return spot.draw("leads", 0.06, 0.18)


def _shown_ohms(spot: Spot, label: str) -> float | None:
    load = spot.load(label)
    return None if load is None else load + _lead_ohms(spot)


def _junction_ohms(spot: Spot, side: str) -> float:
    return spot.draw_of_board(f"{spot.channel.name} {side} to output", 4e3, 25e3)


def _test_ohms(spot: Spot) -> float:
    return spot.draw("test resistor", 595.0, 605.0)


def _oscillator_loaded(spot: Spot) -> float:
    resistor = _test_ohms(spot)
    return _OSCILLATOR_VOLTS * resistor / (resistor + spot.instruments.source_ohms())


SIGNALS = frozenset(
    {"input_level", "level", "output_level", "level_open", "level_8", "level_4", "soak_level"}
)
"""Names that need a tone to come out."""

VOCABULARY: Mapping[str, Known] = MappingProxyType(
    {
        "secondary_volts": Known("V", lambda spot: _secondary(spot, second=False)),
        "secondary_volts_2": Known("V", lambda spot: _secondary(spot, second=True)),
        "rail_plus": Known("V", _rail_plus),
        "rail_minus": Known("V", _rail_minus),
        "rail_plus_lamp": Known("V", lambda spot: _LAMP_RATIO * _rail_plus(spot)),
        "rail_minus_lamp": Known("V", lambda spot: _LAMP_RATIO * _rail_minus(spot)),
        "rail_plus_dead": Known("V", lambda spot: spot.board.bleed_volts),
        "rail_minus_dead": Known("V", lambda spot: -0.8 * spot.board.bleed_volts),
        "volts_before": Known("V", lambda spot: 1.8 * spot.board.bleed_volts),
        "offset": Known("V", lambda spot: spot.channel.offset_volts),
        "offset_lamp": Known("V", lambda spot: spot.channel.offset_volts),
        "offset_hot": Known(
            "V",
            lambda spot: spot.channel.offset_volts + _OFFSET_PER_KELVIN * spot.heatsink_rise(),
        ),
        "idle_current": Known("A", _idle_amps),
        "idle_current_plus": Known("A", _idle_amps),
        "idle_current_minus": Known("A", _idle_amps),
        "idle_current_hot": Known(
            "A",
            _idle_amps_hot,
        ),
        "residual_noise": Known("V", _noise),
        "ripple": Known("V", _ripple),
        "input_level": Known("V", lambda spot: spot.input_volts()),
        "level": Known("V", lambda spot: spot.output_volts(spot.load_ohms)),
        "output_level": Known("V", lambda spot: spot.output_volts(spot.load_ohms)),
        "level_open": Known("V", lambda spot: spot.output_volts(None)),
        "level_8": Known("V", lambda spot: spot.output_volts(spot.load("8 ohm"))),
        "level_4": Known("V", lambda spot: spot.output_volts(spot.load("4 ohm"))),
        "undriven_level": Known("V", _undriven_volts),
        "soak_level": Known("V", _soak_level),
        "switch_on_delay": Known("s", lambda spot: spot.board.switch_on_delay_s),
        "switch_off_time": Known("s", lambda spot: spot.board.quiet_after_s),
        "thump": Known("V", lambda spot: spot.channel.thump_volts),
        "plus_to_output": Known("ohm", lambda spot: _junction_ohms(spot, "plus")),
        "minus_to_output": Known("ohm", lambda spot: _junction_ohms(spot, "minus")),
        "ambient": Known("C", lambda spot: spot.board.cooling.ambient_celsius),
        "ac_zero": Known("V", lambda _: 0.0),
        "dc_zero": Known("V", lambda _: 0.0),
        "ac_open": Known("V", lambda spot: spot.draw("hum", 1e-3, 6e-3)),
        "lead_resistance": Known("ohm", _lead_ohms),
        "shown_8": Known("ohm", lambda spot: _shown_ohms(spot, "8 ohm")),
        "shown_4": Known("ohm", lambda spot: _shown_ohms(spot, "4 ohm")),
        "test_resistor": Known("ohm", _test_ohms),
        "oscillator_open": Known("V", lambda _: _OSCILLATOR_VOLTS),
        "oscillator_loaded": Known("V", _oscillator_loaded),
    }
)
"""Name -> what it is. Signs as the procedures ask for them: a negative rail is negative."""
