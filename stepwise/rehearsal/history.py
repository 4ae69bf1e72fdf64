"""What was done so far, and how warm it has made the board.

Simulated time runs with the prompts, not with the clock: looking at one takes as long as it
takes at a bench, with its tone on, and a pass with a rest before it gets that rest.
"""

from __future__ import annotations

from collections.abc import Mapping

from stepwise.bench import Bench
from stepwise.rehearsal.board import Board
from stepwise.rehearsal.heat import Warmth
from stepwise.rehearsal.operation import CleanLevels
from stepwise.rehearsal.place import kindest_load, load_of, time_of
from stepwise.run import Card
from stepwise.steps import Prompt

_SECONDS: Mapping[str, float] = {
    "confirm": 8.0,
    "readings": 10.0,
    "clip": 12.0,
    "sweep": 9.0,
    "square": 12.0,
    "thermal": 10.0,
    "note": 15.0,
}
"""How long one prompt of a kind takes [s] (common practice, no source)."""
_REGULATOR_WATTS = 0.9
_SOAK_POWER = 1.0 / 8.0
_SWEEP_PEAK_SHARE = 10.0 ** (-10.0 / 20.0)
_SQUARE_PEAK = 5.0
_COLD_KINDS = frozenset({"confirm", "note"})


class History:
    """Simulated time and warmth of one rehearsal."""

    def __init__(self, board: Board, bench: Bench, levels: CleanLevels) -> None:
        self._levels = levels
        self.board = board
        self.bench = bench
        self.warmth = Warmth(board.cooling)
        self._in_hand = ""
        self._pass = ""
        self._started: dict[str, float] = {}
        self._powered = False

    def see(self, prompt: Prompt, card: Card) -> None:
        """A prompt is in hand: time passes once for it, however often it is looked at."""
        if prompt.key == self._in_hand:
            return
        self._in_hand = prompt.key
        self._powered = self._powered or prompt.kind not in _COLD_KINDS
        if prompt.of.key != self._pass:
            self._pass = prompt.of.key
            if card.rest:
                self.warmth = self.warmth.after(card.rest, self._idle_watts())
            self._started.setdefault(prompt.of.key, self.warmth.seconds)
        wanted = time_of(prompt) if prompt.kind == "thermal" else None
        if wanted is None:
            self.warmth = self.warmth.after(_SECONDS.get(prompt.kind, 10.0), self._watts(prompt))
            return
        wait = self._started[prompt.of.key] + wanted - self.warmth.seconds
        self.warmth = self.warmth.after(max(0.0, wait), self._soak_watts(prompt))

    def _watts(self, prompt: Prompt) -> Mapping[str, float]:
        load = load_of(prompt, self.bench) or kindest_load(self.bench)
        if not prompt.tone or load is None or prompt.kind == "readings":
            return self._idle_watts()
        stage = self.board.stage(prompt.of.channel, load.measured)
        peak = self._levels.of(stage).rms_volts * 2.0**0.5
        if prompt.kind == "sweep":
            peak *= _SWEEP_PEAK_SHARE
        elif prompt.kind == "square":
            peak = min(peak, _SQUARE_PEAK)
        return self._driven_watts(peak, load.measured, prompt.of.channel, 1)

    def _soak_watts(self, prompt: Prompt) -> Mapping[str, float]:
        """Timed temperatures: after a tone was set to soak, an eighth of the clean power."""
        load = load_of(prompt, self.bench) or kindest_load(self.bench)
        if load is None or "soak" not in prompt.step:
            return self._idle_watts()
        clean = self._levels.of(self.board.stage(None, load.measured)).rms_volts
        peak = clean * (2.0 * _SOAK_POWER) ** 0.5
        return self._driven_watts(peak, load.measured, None, len(self.board.channels))

    def _idle_watts(self) -> Mapping[str, float]:
        if not self._powered:
            return {}
        return self._driven_watts(0.0, 1e9, None, 0)

    def _driven_watts(
        self, peak: float, load_ohms: float, channel: str | None, driven: int
    ) -> Mapping[str, float]:
        """Where the watts go with so many channels driven alike."""
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
        }
