"""Readings with a tone: what meters and oscilloscope show of a driven channel."""

from __future__ import annotations

import math
from dataclasses import replace

from stepwise.bench import Bench, Detector, Meter, MeterType
from stepwise.quantities import Answer
from stepwise.rehearsal.amplifier import Channel, Circuit, Network
from stepwise.rehearsal.board import Board
from stepwise.rehearsal.meters import Instruments
from stepwise.rehearsal.operation import CleanLevels, Stage, Working
from stepwise.rehearsal.place import (
    Look,
    kindest_load,
    load_of,
    look_of,
    square_volts,
    sweep_volts,
    tone_of,
)
from stepwise.rehearsal.slewing import slewed_level_ratio, slewed_rise_time
from stepwise.rehearsal.square import Picture, square_picture
from stepwise.rehearsal.written import Shown
from stepwise.run import Card
from stepwise.steps import Prompt

_BACKED_OFF = 0.02
"""How far below clipping people stop who watch the tops by eye, at most [1]."""
_TEN_PERCENT_DOUBT = 1.5
"""How far the eye may miss ten per cent of distortion [%]."""
_SET_DOUBT = 0.02
"""How near the level a person sets comes to the level asked for [1]."""
_ENDLESS = 20
"""Cycles given for ringing that does not die away."""
_IN_PERCENT = frozenset({"overshoot", "preshoot", "tilt"})
_TIMES = frozenset({"rise_time", "fall_time"})


class Signals:
    """What is read of one board's signals on one bench."""

    def __init__(
        self, board: Board, bench: Bench, instruments: Instruments, levels: CleanLevels
    ) -> None:
        self.board = board
        self.bench = bench
        self.instruments = instruments
        self._levels = levels
        self._networks: dict[tuple[Channel, Circuit], Network] = {}

    def _network(self, stage: Stage, across_farads: float = 0.0) -> Network:
        """The channel with its load, worked out once: a sweep asks for it at every frequency."""
        circuit = Circuit(stage.load_ohms, self.instruments.source_ohms(), across_farads)
        known = (stage.channel, circuit)
        if known not in self._networks:
            self._networks[known] = stage.channel.network(circuit)
        return self._networks[known]

    def _stage(self, prompt: Prompt) -> Stage | None:
        """The driven channel with its load; the kindest load where none is named.

        None where there is no load, or nothing comes out of the channel.
        """
        load = load_of(prompt, self.bench) or kindest_load(self.bench)
        ohms = None if load is None else self.instruments.load_ohms(load.label)
        if ohms is None or not self.board.channel(prompt.of.channel).minus_fuse_whole:
            return None
        return self.board.stage(prompt.of.channel, ohms)

    def clip(self, prompt: Prompt, _card: Card, at: str) -> Shown | None:
        """Levels and supply at the largest clean level, or at ten per cent."""
        usual = self._stage(prompt)
        if usual is None:
            return None
        board = self.board.on_mains(self.instruments.mains_ratio(prompt.of.key))
        stage, supply = replace(usual, supply=board.supply), board.supply
        meter = self.bench.meter(prompt.meter)
        is_by_eye = meter is not None and meter.type is MeterType.OSCILLOSCOPE
        if is_by_eye and not prompt.expected.is_sine:
            return None  # its divisions are peaks, and do not tell the RMS
        averaging = is_averaging(meter)
        working = self._set_working(stage, prompt)
        level = working.average_volts if averaging else working.rms_volts
        values = {
            "level": level,
            "level_at_ten_percent": level,
            "rail_plus": working.plus.mean_volts,
            "rail_minus": -working.minus.mean_volts,
            "secondary_volts": supply.secondary(working.plus, average=averaging),
        }
        value = values.get(prompt.point)
        if value is None:
            return None
        return self.instruments.quantity(value, meter, prompt.expected, at)

    def _set_working(self, stage: Stage, prompt: Prompt) -> Working:
        """What the person set by eye; one setting for all that is read in the pass."""
        chance, here = self.instruments.chance, prompt.of.key
        if prompt.point == "level_at_ten_percent":
            doubt = _TEN_PERCENT_DOUBT * chance.uniform(f"{here} ten per cent")
            return stage.clipped(10.0 + doubt)
        clean = self._levels.of(stage)
        backed_off = chance.uniform(f"{here} clean", 0.0, _BACKED_OFF)
        return stage.at(math.sqrt(2.0) * clean.rms_volts * (1.0 - backed_off))

    def sweep(self, prompt: Prompt, card: Card, at: str, seconds: float) -> Shown | None:
        """A level of a sweep, or its reference.

        Args:
            prompt: What is asked.
            card: Its card, which says at what level.
            at: Name of this look.
            seconds: Since the sweep began [s].
        """
        meter = self.bench.meter(prompt.meter)
        drift = self.instruments.setup.drift_ratio(seconds)
        # A procedure that leaves the amplifier out says so in the step's title.
        if "oscillator" in card.step_title.lower():
            return self._level(prompt, meter, at, 1.0, drift * self._bench_ratio(prompt))
        stage = self._stage(prompt)
        if stage is None:
            return None
        wanted = sweep_volts(card, self._levels.of(stage).rms_volts)
        set_to = self.instruments.chance.around(f"{prompt.of.key} set", wanted, _SET_DOUBT)
        ratio = drift * self._bench_ratio(prompt) * self._response(stage, prompt, set_to)
        return self._level(prompt, meter, at, set_to, ratio)

    def _level(
        self, prompt: Prompt, meter: Meter | None, at: str, reference_volts: float, ratio: float
    ) -> Shown:
        """A level as volts where volts are asked, else on the decibel scale."""
        if prompt.expected.answer is Answer.LEVEL:
            key = prompt.of.prompt_key("reference")
            return self.instruments.level(20.0 * math.log10(ratio), meter, key)
        volts = reference_volts * ratio
        return self.instruments.quantity(volts, meter, prompt.expected, at)

    def _bench_ratio(self, prompt: Prompt) -> float:
        return self.instruments.setup.level_ratio(tone_of(prompt))

    def _response(self, stage: Stage, prompt: Prompt, reference_volts: float) -> float:
        """The channel's level over its level at 1 kHz [1]."""
        hertz, network = tone_of(prompt), self._network(stage)
        ratio = abs(network.response(hertz)) / abs(network.response(1e3))
        slope = 2.0 * math.pi * hertz * math.sqrt(2.0) * reference_volts * ratio
        return ratio * slewed_level_ratio(stage.channel.slew_volts_per_s / slope)

    def square(self, prompt: Prompt, _card: Card, at: str) -> Shown | None:
        """What is looked for in a square wave."""
        look, stage = look_of(prompt), self._stage(prompt)
        if look is None or stage is None:
            return None
        picture = self._picture(stage, look, square_volts(prompt))
        if picture is None:
            return self._cycles(_ENDLESS) if look.feature == "ringing_cycles" else None
        return self._feature(picture, look.feature, prompt, at)

    def _feature(self, picture: Picture, name: str, prompt: Prompt, at: str) -> Shown | None:
        if name in _IN_PERCENT:
            return self.instruments.share(getattr(picture, name), at)
        if name in _TIMES:
            return self.instruments.duration(getattr(picture, name), at)
        if name == "ringing_cycles":
            return self._cycles(picture.ringing_cycles)
        if name == "ringing_frequency" and picture.ringing_hertz is not None:
            return self.instruments.frequency(picture.ringing_hertz, prompt.expected, at)
        return None

    def _picture(self, stage: Stage, look: Look, height_volts: float) -> Picture | None:
        """The trace; None where the amplifier oscillates."""
        try:
            picture = square_picture(self._network(stage, look.across_farads).modes(), look.hertz)
        except ValueError:
            return None
        slew = stage.channel.slew_volts_per_s
        if math.isinf(slew):
            return picture
        rise = slewed_rise_time(picture.rise_time, height_volts, slew)
        return picture.slowed(rise)

    def _cycles(self, count: int) -> Shown:
        scope = self.bench.graticule()
        title = scope.title if scope else "oscilloscope"
        return Shown(str(count), title, f"{count} cycle{'s' if count != 1 else ''} of ringing")


def is_averaging(meter: Meter | None) -> bool:
    """Whether an AC meter follows the rectified mean."""
    return meter is not None and meter.detector is Detector.AVERAGE
