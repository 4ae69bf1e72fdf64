"""The rehearsal bench: answers prompts as a person at the simulated bench would type them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence

from stepwise.bench import Bench, Detector, Meter, Unit
from stepwise.quantities import Answer, si_unit
from stepwise.rehearsal.amplifier import Circuit
from stepwise.rehearsal.board import Board, good_board
from stepwise.rehearsal.chance import Chance
from stepwise.rehearsal.faults import with_faults
from stepwise.rehearsal.history import History
from stepwise.rehearsal.meters import Instruments, Shown
from stepwise.rehearsal.operation import CleanLevels, Stage, Working
from stepwise.rehearsal.place import (
    Look,
    kindest_load,
    load_of,
    look_of,
    sweep_volts,
    tone_of,
)
from stepwise.rehearsal.square import Picture, square_picture
from stepwise.rehearsal.vocabulary import Spot, named_value
from stepwise.run import Card
from stepwise.steps import Prompt, Setting

_BACKED_OFF = 0.02
"""How far below clipping people stop who watch the tops by eye, at most [1]."""
_TEN_PERCENT_DOUBT = 1.5
"""How far the eye may miss ten per cent of distortion [%]."""
_SET_DOUBT = 0.02
"""How near the level a person sets comes to the level asked for [1]."""
_ENDLESS = 20
"""Cycles given for ringing that does not die away."""
_REMARK = "Taken on the simulated bench"
_IN_PERCENT = frozenset({"overshoot", "preshoot", "tilt"})
_TIMES = frozenset({"rise_time", "fall_time"})


class RehearsalBench:
    """A simulated unit on a simulated bench, for `stepwise.run.AnsweringBench`.

    What is typed depends on the seed, the prompt and how often it was asked, not on the order;
    only heat depends on what was done before, as it does at a bench.
    """

    def __init__(
        self,
        seed: int,
        unit: Unit,
        bench: Bench,
        faults: Sequence[tuple[str, float]] = (),
    ) -> None:
        """Set the bench up.

        Args:
            seed: Of the board's tolerances and the instruments' errors.
            unit: Gives the channels and the input resistance.
            bench: Gives instruments, loads and transformer.
            faults: Names from `FAULTS` with severities 0 to 1.

        Raises:
            UnknownFault: There is no such fault.
            ValueError: A severity is not from 0 to 1.
        """
        sound = good_board(
            seed,
            name=unit.name,
            channels=unit.channels,
            supply=bench.supply,
            input_ohms=unit.ratings.get("input_resistance", 22e3),
        )
        self.title = f"{unit.name} on a simulated bench, seed {seed}"
        self.board: Board = with_faults(sound, faults)
        self.bench = bench
        self.instruments = Instruments(bench, Chance(seed))
        self._levels = CleanLevels()
        self.history = History(self.board, bench, self._levels)
        self._asked: Counter[str] = Counter()

    def answer(self, prompt: Prompt, card: Card) -> str | None:
        """What a person would type.

        Args:
            prompt: What is asked.
            card: Its card, whose settings are followed.

        Returns:
            The text; None where this bench has nothing to read there.
        """
        self.history.see(prompt, card)
        shown = self._look(prompt, card)
        self._asked[prompt.key] += 1
        return None if shown is None else shown.typed

    def panel(self, prompt: Prompt, card: Card) -> tuple[Setting, ...]:
        """What the instruments show, for a person who wants to read them.

        Looking changes nothing: `answer` would type just what is seen here.
        """
        self.history.see(prompt, card)
        if prompt.expected.answer in (Answer.CONFIRM, Answer.TEXT, Answer.MARK):
            return ()
        shown = self._look(prompt, card)
        return () if shown is None else (Setting(shown.instrument, shown.display),)

    def _look(self, prompt: Prompt, card: Card) -> Shown | None:
        at = f"{prompt.key} {self._asked[prompt.key]}"
        if prompt.expected.answer is Answer.CONFIRM:
            return Shown("y", "", "")
        by_kind: Mapping[str, Callable[[Prompt, Card, str], Shown | None]] = {
            "note": self._note,
            "thermal": self._heat,
            "square": self._square,
            "clip": self._clip,
            "sweep": self._sweep,
        }
        return by_kind.get(prompt.kind, self._named)(prompt, card, at)

    def _note(self, prompt: Prompt, _card: Card, at: str) -> Shown:
        if prompt.expected.answer is Answer.MARK:
            mark = round(self.instruments.chance.uniform(f"{at} mark", 5.0, 8.0))
            return Shown(str(mark), "", "")
        return Shown(_REMARK, "", "")

    def _heat(self, prompt: Prompt, _card: Card, at: str) -> Shown | None:
        where = prompt.point.rpartition(" at ")[0] or prompt.point
        celsius = self.history.warmth.celsius(where.strip().lower())
        if celsius is None:
            return None
        return self.instruments.temperature(celsius, self.bench.meter(prompt.meter), at)

    def _named(self, prompt: Prompt, _card: Card, at: str) -> Shown | None:
        meter = self.bench.meter(prompt.meter)
        load = load_of(prompt, self.bench)
        spot = Spot(
            board=self.board,
            instruments=self.instruments,
            warmth=self.history.warmth,
            channel=self.board.channel(prompt.of.channel),
            one_channel=prompt.of.channel is not None,
            load_ohms=None if load is None else self.instruments.load_ohms(load.label),
            hertz=tone_of(prompt),
            averaging=_is_averaging(meter),
        )
        expected = prompt.expected
        value = named_value(prompt.point, si_unit(expected.unit), spot)
        if value is None:
            return None
        if expected.answer is Answer.HEAT:
            return self.instruments.temperature(value, meter, at)
        return self.instruments.quantity(value, meter, expected, at)

    def _stage(self, prompt: Prompt) -> Stage | None:
        """The driven channel with its load; the kindest load where none is named."""
        load = load_of(prompt, self.bench) or kindest_load(self.bench)
        ohms = None if load is None else self.instruments.load_ohms(load.label)
        return None if ohms is None else self.board.stage(prompt.of.channel, ohms)

    def _clip(self, prompt: Prompt, _card: Card, at: str) -> Shown | None:
        stage = self._stage(prompt)
        if stage is None:
            return None
        meter = self.bench.meter(prompt.meter)
        averaging = _is_averaging(meter)
        working = self._set_working(stage, prompt)
        supply = self.board.supply
        values = {
            "level": working.average_volts if averaging else working.rms_volts,
            "level_at_ten_percent": (working.average_volts if averaging else working.rms_volts),
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

    def _sweep(self, prompt: Prompt, card: Card, at: str) -> Shown | None:
        meter = self.bench.meter(prompt.meter)
        if "oscillator" in card.step_title.lower():
            return self._oscillator(prompt, meter, at)
        stage = self._stage(prompt)
        if stage is None:
            return None
        circuit = Circuit(stage.load_ohms, self.instruments.source_ohms())
        if prompt.expected.answer is Answer.LEVEL:
            level = abs(stage.channel.response(tone_of(prompt), circuit))
            reference = abs(stage.channel.response(1e3, circuit))
            level_db = 20.0 * math.log10(level / reference)
            key = prompt.of.prompt_key("reference")
            return self.instruments.level(level_db, meter, key)
        wanted = sweep_volts(card, self._levels.of(stage).rms_volts)
        set_to = self.instruments.chance.around(f"{prompt.of.key} set", wanted, _SET_DOUBT)
        return self.instruments.quantity(set_to, meter, prompt.expected, at)

    def _oscillator(self, prompt: Prompt, meter: Meter | None, at: str) -> Shown:
        """The oscillator straight into the meter: one level at all frequencies."""
        if prompt.expected.answer is Answer.LEVEL:
            key = prompt.of.prompt_key("reference")
            return self.instruments.level(0.0, meter, key)
        return self.instruments.quantity(1.0, meter, prompt.expected, at)

    def _square(self, prompt: Prompt, _card: Card, at: str) -> Shown | None:
        look, stage = look_of(prompt), self._stage(prompt)
        if look is None or stage is None:
            return None
        picture = self._picture(stage, look)
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

    def _picture(self, stage: Stage, look: Look) -> Picture | None:
        """The trace; None where the amplifier oscillates."""
        circuit = Circuit(stage.load_ohms, self.instruments.source_ohms(), look.across_farads)
        modes = stage.channel.modes(circuit)
        try:
            return square_picture(modes, look.hertz)
        except ValueError:
            return None

    def _cycles(self, count: int) -> Shown:
        scope = self.bench.graticule()
        title = scope.title if scope else "oscilloscope"
        return Shown(str(count), title, f"{count} cycle{'s' if count != 1 else ''} of ringing")


def _is_averaging(meter: Meter | None) -> bool:
    return meter is not None and meter.detector is Detector.AVERAGE
