"""What was done so far, and how warm it has made the board.

Simulated time runs with the prompts, not with the clock: looking at one takes as long as it
takes at a bench, with its tone on, and a pass with a rest before it gets that rest.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stepwise.bench import Bench
from stepwise.rehearsal.board import Board
from stepwise.rehearsal.heat import Warmth
from stepwise.rehearsal.meters import Instruments
from stepwise.rehearsal.operation import CleanLevels
from stepwise.rehearsal.place import kindest_load, load_of, time_of
from stepwise.run import Card
from stepwise.steps import Prompt


@dataclass(frozen=True, slots=True)
class _Pace:
    """How long a practised person takes [s] (common practice, no source)."""

    first: float
    """For the first prompt of a pass, with setting up."""
    next: float


_PACES: Mapping[str, _Pace] = {
    "confirm": _Pace(8.0, 8.0),
    "readings": _Pace(20.0, 10.0),
    # Both meters and the oscilloscope are connected before the tone goes on.
    "clip": _Pace(25.0, 3.2),
    "sweep": _Pace(20.0, 8.0),
    "square": _Pace(20.0, 9.0),
    "thermal": _Pace(10.0, 8.0),
    "note": _Pace(15.0, 15.0),
}
_USUAL_PACE = _Pace(15.0, 10.0)
_REGULATOR_WATTS = 0.9
_SOAK_POWER = 1.0 / 8.0
_SWEEP_PEAK_SHARE = 10.0 ** (-10.0 / 20.0)
_SQUARE_PEAK = 5.0
_COLD_KINDS = frozenset({"confirm", "note"})


class History:
    """Simulated time and warmth of one rehearsal."""

    def __init__(self, board: Board, instruments: Instruments, levels: CleanLevels) -> None:
        self._levels = levels
        self._instruments = instruments
        self.board = board
        self.bench: Bench = instruments.bench
        self.warmth = Warmth(board.cooling)
        self._in_hand = ""
        self._pass = ""
        self._started: dict[str, float] = {}
        self._first_read: dict[str, float] = {}
        self._powered = False
        self._soaking: Mapping[str, float] | None = None
        self._device_watts = 0.0
        self._known_watts: dict[tuple[float, float, str | None, int], Mapping[str, float]] = {}

    def see(self, prompt: Prompt, card: Card) -> None:
        """A prompt is in hand: time passes once for it, however often it is looked at."""
        if prompt.key == self._in_hand:
            return
        self._in_hand = prompt.key
        self._powered = self._powered or prompt.kind not in _COLD_KINDS
        pace = _PACES.get(prompt.kind, _USUAL_PACE)
        seconds = pace.next
        if prompt.of.key != self._pass:
            self._pass = prompt.of.key
            seconds = pace.first
            if card.rest and prompt.of.key not in self._started:
                self._pass_time(card.rest, self._idle_watts())
            self._started.setdefault(prompt.of.key, self.warmth.seconds)
        self._follow_soak(prompt, card)
        wanted = time_of(prompt) if prompt.kind == "thermal" else None
        if wanted is not None:
            wait = self._started[prompt.of.key] + wanted - self.warmth.seconds
            # The time asked for is when it is read; the first places of a moment share it.
            seconds = max(0.0, wait)
        self._pass_time(seconds, self._watts(prompt))
        self._first_read.setdefault(prompt.of.key, self.warmth.seconds)

    def wait(self, seconds: float) -> None:
        """Let time pass at what is on now: looking again at a reading in doubt."""
        self._pass_time(seconds, self._idle_watts())

    def seconds_into(self, prompt: Prompt) -> float:
        """Time since the first reading of the prompt's pass [s]."""
        return self.warmth.seconds - self._first_read.get(prompt.of.key, self.warmth.seconds)

    def device_rise(self) -> float:
        """How far the power devices of a channel stood above the heatsink, tone on [K]."""
        return self._device_watts * self.board.cooling.device_kelvin_per_watt

    def _pass_time(self, seconds: float, watts: Mapping[str, float]) -> None:
        self.warmth = self.warmth.after(seconds, watts)

    def _follow_soak(self, prompt: Prompt, card: Card) -> None:
        """A thermal step with an on time has its tone on, and so have those that follow it."""
        if prompt.kind != "thermal":
            self._soaking = None
        elif card.on_time:
            self._soaking = self._soak_watts(prompt)

    def _watts(self, prompt: Prompt) -> Mapping[str, float]:
        if self._soaking is not None:
            return self._soaking
        load = load_of(prompt, self.bench) or kindest_load(self.bench)
        ohms = None if load is None else self._instruments.load_ohms(load.label)
        if not prompt.tone or ohms is None or prompt.kind == "readings":
            return self._idle_watts()
        stage = self.board.stage(prompt.of.channel, ohms)
        peak = self._levels.of(stage).rms_volts * 2.0**0.5
        if prompt.kind == "sweep":
            peak *= _SWEEP_PEAK_SHARE
        elif prompt.kind == "square":
            peak = min(peak, _SQUARE_PEAK)
        return self._driven_watts(peak, ohms, prompt.of.channel, 1)

    def _soak_watts(self, prompt: Prompt) -> Mapping[str, float]:
        """All channels at an eighth of the clean power."""
        load = load_of(prompt, self.bench) or kindest_load(self.bench)
        ohms = None if load is None else self._instruments.load_ohms(load.label)
        if ohms is None:
            return self._idle_watts()
        clean = self._levels.of(self.board.stage(None, ohms)).rms_volts
        peak = clean * (2.0 * _SOAK_POWER) ** 0.5
        channels = len(self.board.channels)
        watts = self._driven_watts(peak, ohms, None, channels)
        self._device_watts = watts["heatsink"] / channels
        return watts

    def _idle_watts(self) -> Mapping[str, float]:
        if not self._powered:
            return {}
        return self._driven_watts(0.0, 1e9, None, 0)

    def _driven_watts(
        self, peak: float, load_ohms: float, channel: str | None, driven: int
    ) -> Mapping[str, float]:
        """Where the watts go with so many channels driven alike; worked out once."""
        known = (peak, load_ohms, channel, driven)
        if known not in self._known_watts:
            self._known_watts[known] = self._where_watts_go(*known)
        return self._known_watts[known]

    def _where_watts_go(
        self, peak: float, load_ohms: float, channel: str | None, driven: int
    ) -> Mapping[str, float]:
        one = self.board.stage(channel, load_ohms).at(peak)
        idle = self.board.idle_amps
        current = idle + driven * (one.plus.current - idle)
        supply = self.board.supply
        plus, minus = supply.rail(current), supply.rail(current, negative=True)
        delivered = plus.output_watts + minus.output_watts
        copper = (plus.winding_rms**2 + minus.winding_rms**2) * supply.winding_ohms
        return {
            "heatsink": delivered - driven * one.load_watts,
            "transformer": supply.core_watts + copper,
            "rectifier": plus.diode_watts + minus.diode_watts,
            "regulator": _REGULATOR_WATTS,
            "reservoirs": plus.reservoir_watts + minus.reservoir_watts,
        }
