"""The rehearsal bench: answers prompts as a person at the simulated bench would type them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta

from stepwise.bench import Bench, Unit
from stepwise.quantities import Answer, si_unit
from stepwise.rehearsal.board import Board, good_board
from stepwise.rehearsal.chance import Chance
from stepwise.rehearsal.clock import AttendedClock
from stepwise.rehearsal.faults import with_faults
from stepwise.rehearsal.history import History
from stepwise.rehearsal.meters import Instruments
from stepwise.rehearsal.mistakes import Person
from stepwise.rehearsal.operation import CleanLevels
from stepwise.rehearsal.place import load_of, tone_of
from stepwise.rehearsal.reveal import noticed_in, reveal
from stepwise.rehearsal.rig import Rig
from stepwise.rehearsal.seen import is_so
from stepwise.rehearsal.signals import Signals, is_averaging
from stepwise.rehearsal.vocabulary import Spot, named_value
from stepwise.rehearsal.written import Shown
from stepwise.run import Card, Run
from stepwise.steps import Prompt, Setting

_REMARK = "Taken on the simulated bench"


class RehearsalBench:
    """A simulated unit on a simulated bench, for `stepwise.run.AnsweringBench`.

    What is typed depends on the seed, the prompt and how often it was asked, not on the order;
    only heat, and what drifts, depend on what was done before, as they do at a bench.
    """

    def __init__(
        self,
        seed: int,
        unit: Unit,
        bench: Bench,
        faults: Sequence[tuple[str, float]] = (),
        *,
        bench_seed: int | None = None,
    ) -> None:
        """Set the bench up.

        Args:
            seed: Of the board's tolerances and the instruments' errors.
            unit: Gives the channels and the input resistance.
            bench: Gives instruments, loads and transformer.
            faults: Names from `FAULTS` with severities 0 to 1.
            bench_seed: Of the instruments' errors, where one board goes to several benches;
                otherwise `seed`.

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
        self.faults = tuple(faults)
        rig = with_faults(Rig(sound), faults)
        self.board: Board = rig.board
        self.bench = bench
        self._board_chance = Chance(seed)
        chance = Chance(seed if bench_seed is None else bench_seed)
        self.instruments = Instruments(bench, chance, rig.setup)
        levels = CleanLevels()
        self.history = History(self.board, self.instruments, levels)
        self.person = Person(rig.mistakes, chance)
        self._signals = Signals(self.board, bench, self.instruments, levels)
        self._asked: Counter[str] = Counter()
        self._attended: AttendedClock | None = None

    def answer(self, prompt: Prompt, card: Card) -> str | None:
        """What a person would type; asked again about the same prompt, one that looks again.

        Args:
            prompt: What is asked.
            card: Its card, whose settings are followed.

        Returns:
            The text; None where this bench has nothing to read there.
        """
        self._see(prompt, card)
        shown = self._look(prompt, card)
        again = self._asked[prompt.key] > 0
        self._asked[prompt.key] += 1
        return None if shown is None else self.person.writes(prompt, shown.typed, again=again)

    def panel(self, prompt: Prompt, card: Card) -> tuple[Setting, ...]:
        """What the instruments show, for a person who wants to read them.

        Looking changes nothing: `answer` would type just what is seen here, but for the
        mistakes of a person who makes some.
        """
        self._see(prompt, card)
        if prompt.expected.answer in (Answer.CONFIRM, Answer.TEXT, Answer.MARK):
            return ()
        shown = self._look(prompt, card)
        return () if shown is None else (Setting(shown.instrument, shown.display),)

    def reveal(self, run: Run) -> tuple[str, ...]:
        """The faults that were in it, and whether the run noticed them: one text for each.

        Args:
            run: The run that was answered here, with its flags and slips.
        """
        return tuple(
            f"{fault.says} {fault.outcome}" for fault in reveal(self.faults, noticed_in(run))
        )

    def clock(self, start: datetime) -> Callable[[], datetime]:
        """A clock that runs with the simulated time.

        Args:
            start: What it shows before anything is done.
        """
        return lambda: start + timedelta(seconds=round(self.history.warmth.seconds, 3))

    def keep(self, clock: AttendedClock) -> None:
        """From here on, spend on a clock what looking at prompts takes."""
        self._attended = clock

    def _see(self, prompt: Prompt, card: Card) -> None:
        before = self.history.warmth.seconds
        self.history.see(prompt, card)
        spent = self.history.warmth.seconds - before
        if self._attended is not None and spent > 0.0:
            self._attended.spend(spent)

    def _look(self, prompt: Prompt, card: Card) -> Shown | None:
        at = f"{prompt.key} {self._asked[prompt.key]}"
        if prompt.expected.answer is Answer.CONFIRM:
            return Shown("y" if is_so(prompt.ask, self.board) else "n", "", "")
        by_kind: Mapping[str, Callable[[Prompt, Card, str], Shown | None]] = {
            "note": self._note,
            "thermal": self._heat,
            "square": self._signals.square,
            "clip": self._signals.clip,
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

    def _sweep(self, prompt: Prompt, card: Card, at: str) -> Shown | None:
        return self._signals.sweep(prompt, card, at, self.history.seconds_into(prompt))

    def _named(self, prompt: Prompt, _card: Card, at: str) -> Shown | None:
        meter = self.bench.meter(prompt.meter)
        load = load_of(prompt, self.bench)
        spot = Spot(
            board=self.board.on_mains(self.instruments.mains_ratio(prompt.of.key)),
            instruments=self.instruments,
            warmth=self.history.warmth,
            device_rise=self.history.device_rise(),
            channel=self.board.channel(prompt.of.channel),
            one_channel=prompt.of.channel is not None,
            load_ohms=None if load is None else self.instruments.load_ohms(load.label),
            hertz=tone_of(prompt),
            averaging=is_averaging(meter),
            board_chance=self._board_chance,
        )
        expected = prompt.expected
        # A second look at the same thing is called name/2.
        name = prompt.point.partition("/")[0]
        value = named_value(name, si_unit(expected.unit), spot)
        if value is None:
            return None
        if expected.answer is Answer.HEAT:
            return self.instruments.temperature(value, meter, at)
        return self.instruments.quantity(value, meter, expected, at)
