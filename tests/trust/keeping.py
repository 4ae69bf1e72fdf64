"""A run that keeps what it worked out, beside one that keeps nothing from answer to answer.

    python -m tests.trust.keeping [--walks 60] [--moves 100] [--seed 1] [--minutes 20]

Both get the same moves at the same moments: answers, slips, skips, corrections, remarks, tones,
captures, disks that fail, ends, resumptions. The one also works out ahead whatever comes to mind;
the other is made anew from its journal for each move, and never does. After each move all that
they show must be the same to the last digit, and their journals byte for byte.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from stepwise.errors import JournalError, StepwiseError
from stepwise.judge import Result
from stepwise.procedure import procedures_folder
from stepwise.rehearsal import FAULTS, RehearsalBench, bench_text, unit_text
from stepwise.run import Outcome, Plan, Proposal, Run, Status, plan_from_texts
from tests.run.plans import Clock
from tests.trust.waves import write_waves

PROCEDURES = ("quick-check", "first-look", "after-repair", "thermal-soak", "bench-check")
_TEXTS = (
    "y", "n", "0", "-0", "-", "+", "1", "12", "35", "34.6", "350", "-3", "1500", "19", "54", "=",
    "2.0 on 3", "1.9 on 3 x10", "27 Vpk", "48 Vpp", "flat", "-4.5", "-30", "1000", "", "nonsense",
    "19 V", "0.001", "1e-9", "1e9", "4.2 div at 5", "8 %", "0.4/5", "1k5", "61 C", "warm", "0 C",
    "too hot to hold", "8", "10", "none", "2 us", "50 ms", "5e-324", "1e-300 V",
)  # fmt: skip
_REASONS = ("", "no probe", "no time", "not today")
_SECONDS = (0.0, 0.0, 0.0213147, 1.0, 4.0, 20.0, 90.0, 600.0, -3.0)
"""That pass between two moves; clocks are set back, too."""


@dataclass
class Pair:
    """The two runs, and the clock that both go by."""

    plan: Plan
    logs: Path
    transcribing: bool = False

    def __post_init__(self) -> None:
        self.clock = Clock()
        for name in ("keeping", "bare"):
            (self.logs / name).mkdir()
        self.run, self.bare = (
            Run.start(self.plan, self.logs / name, self.clock, transcribing=self.transcribing)
            for name in ("keeping", "bare")
        )

    def move(self, act: Callable[[Run], object], *, fails: bool = False) -> object:
        """Do the same to both, and hold them against one another; gives what came of it."""
        came = [_what_comes(act, run, fails=fails) for run in (self.run, self.bare)]
        _same("outcome", _said(came[0]), _said(came[1]))
        self.settle()
        return came[0]

    def resume(self) -> None:
        """Leave both, and carry on with them."""
        self.run.close()
        self.bare.close()
        self.run = Run.resume(self.run.folder, self.clock)
        self.bare = Run.resume(self.bare.folder, self.clock)
        self.settle()

    def settle(self) -> None:
        """Make the bare run anew of its journal, and compare."""
        self.bare = Run(self.plan, self.bare._recorder.journal, self.clock)
        compare(self.run, self.bare)

    def close(self) -> None:
        """Let go of both journals."""
        self.run.close()
        self.bare.close()


def _what_comes(act: Callable[[Run], object], run: Run, *, fails: bool) -> object:
    file = run._recorder.journal._file
    if fails:

        def full(_: bytes) -> None:
            raise JournalError(file.path, "no space left on the disk")

        file.add = full
    try:
        return act(run)
    except StepwiseError as error:
        return type(error).__name__, str(error).replace(str(run.folder.parent), "")
    finally:
        if fails:
            del file.add


def _said(came: object) -> str:
    return repr(came) + _spreads(came.results if isinstance(came, Outcome) else ())


def _spreads(results: Sequence[Result]) -> str:
    """How the errors of every source are spread, which a printed result does not show."""
    return repr(
        [
            [
                (str(source), *(getattr(source, each, None) for each in _SPREAD))
                for source in result.measure.terms
            ]
            for result in results
        ]
    )


_SPREAD = ("excess", "freedom", "is_least")


def _same(what: str, mine: object, theirs: object) -> None:
    """To the last digit, zeros of either sign told apart, which `==` does not do."""
    here, there = (each if isinstance(each, str) else repr(each) for each in (mine, theirs))
    if here != there:
        pairs = enumerate(zip(here, there, strict=False))
        place = next((n for n, (one, other) in pairs if one != other), 0)
        told = [each[max(0, place - 300) : place + 100] for each in (here, there)]
        raise AssertionError(f"{what} differs at {place}:\n…{told[0]}…\n…{told[1]}…")


def compare(run: Run, bare: Run) -> None:
    """All that a front end can be shown of both, to the last digit."""
    _same("results", run.results(), bare.results())
    _same("spreads", _spreads(run.results()), _spreads(bare.results()))
    _same("flags", run.flags(), bare.flags())
    _same("findings", run.findings(), bare.findings())
    _same("sheet", run.sheet(), bare.sheet())
    _same("review", run.review(), bare.review())
    assert run.closed_prompts() == bare.closed_prompts()
    assert run.held_prompts() == bare.held_prompts()
    assert run.closed_steps() == bare.closed_steps()
    assert run.blocked() == bare.blocked()
    assert run.state == bare.state
    asked = run.next_prompt()
    assert asked == bare.next_prompt()
    if asked is not None:
        compare_at(asked.key, run, bare)
    mine, theirs = (each.folder / "journal.jsonl" for each in (run, bare))
    assert mine.read_bytes() == theirs.read_bytes()


def compare_at(key: str, run: Run, bare: Run) -> None:
    """What is shown at one prompt."""
    prompt = run.prompt(key)
    _same("card", run.card(key), bare.card(key))
    assert run.expected(key) == bare.expected(key)
    assert run.tone_clock(key) == bare.tone_clock(key)
    _same("trace", run.trace(key), bare.trace(key))
    channel = prompt.of.channel
    _same("curve", run.curve(prompt.step, channel), bare.curve(prompt.step, channel))


@dataclass
class Hand:
    """Makes moves, as a person would who has no idea, on a bench with a fault or two."""

    pair: Pair
    bench: RehearsalBench
    chance: random.Random
    waves: Sequence[Path]
    came: Counter[str]

    def __post_init__(self) -> None:
        self.offered: Proposal | None = None
        self.doubted: Outcome | None = None

    def get_on(self, answers: int) -> None:
        """Answer so many prompts well, to be somewhere in the midst of the run."""
        pair = self.pair
        for _ in range(answers):
            prompt = pair.run.next_prompt()
            if prompt is None or pair.run.blocked() is not None:
                break
            text = self.bench.answer(prompt, pair.run.card(prompt.key)) or "none"
            pair.clock.advance(20.0)
            for run in (pair.run, pair.bare):
                run.take(prompt.key, "y" if prompt.hold else text, sure=True)
        pair.resume()

    def move(self) -> None:
        """One move, after a while and some thoughts."""
        pair, chance = self.pair, self.chance
        pair.clock.advance(chance.choice(_SECONDS))
        ended = pair.run.ended
        moves = {
            self.answer: 60, self.correct: 10, self.skip: 7, self.note: 3, self.tone: 6,
            self.settle: 12 if self.doubted else 0, self.capture: 2, self.end: 1,
            self.take_offered: 20 if self.offered else 0, self.resume: 20 if ended else 2,
        }  # fmt: skip
        (act,) = chance.choices(tuple(moves), tuple(moves.values()))
        self.came[act.__name__] += 1
        act()
        key = chance.choice(pair.run.prompts).key
        compare_at(key, pair.run, pair.bare)

    def answer(self) -> None:
        """The prompt in hand: mostly by the bench, so that the run gets on."""
        prompt = self.pair.run.next_prompt()
        if prompt is None:
            return
        text = self.chance.choice(_TEXTS)
        if self.chance.random() < 0.85:
            text = self.bench.answer(prompt, self.pair.run.card(prompt.key)) or text
        self._take(prompt.key, text, sure=self.chance.random() < 0.6)

    def correct(self) -> None:
        """Any prompt, answered or not."""
        keys = [line.key for line in self.pair.run.sheet()]
        if not keys or self.chance.random() < 0.2:
            keys = [prompt.key for prompt in self.pair.run.prompts]
        key = self.chance.choice(keys)
        prompt = self.pair.run.prompt(key)
        text = self.chance.choice(_TEXTS)
        if self.chance.random() < 0.6:
            text = self.bench.answer(prompt, self.pair.run.card(key)) or text
        self._take(key, text, sure=self.chance.random() < 0.6)

    def settle(self) -> None:
        """A doubt, one of three ways."""
        doubted, self.doubted = self.doubted, None
        assert doubted is not None
        assert doubted.doubt is not None
        typed = self.pair.run.state.doubts[-1].typed
        text = self.chance.choice((typed, doubted.doubt.meant or typed))
        self._take(doubted.key, text, sure=True)

    def skip(self) -> None:
        """With a reason or without; where the disk fails, perhaps with another one then."""
        prompt = self.pair.run.next_prompt()
        if prompt is None or self.chance.random() < 0.3:
            prompt = self.chance.choice(self.pair.run.prompts)
        key = prompt.key
        self._think(key, self.chance.choice(_TEXTS))
        for fails in self._tries():
            reason = self.chance.choice(_REASONS)
            self._told(self.pair.move(lambda run, why=reason: run.skip(key, why), fails=fails))

    def note(self) -> None:
        """A remark, which changes nothing else."""
        prompt = self.pair.run.next_prompt()
        key = prompt.key if prompt is not None else None
        if key is not None:
            self._think(key, self.chance.choice(_TEXTS))
        for fails in self._tries():
            self.pair.move(lambda run: run.note("hums", key), fails=fails)

    def tone(self) -> None:
        """On or off, here or elsewhere."""
        on, key = self.chance.random() < 0.5, None
        if self.chance.random() < 0.3:
            key = self.chance.choice(self.pair.run.prompts).key
        prompt = self.pair.run.next_prompt()
        if prompt is not None:
            self._think(prompt.key, self.chance.choice(_TEXTS))
        for fails in self._tries():
            self.pair.move(lambda run: run.tone(on, key), fails=fails)

    def capture(self) -> None:
        """A picture of the oscilloscope, to a prompt that it may answer."""
        keys = [each.key for each in self.pair.run.prompts if each.kind in ("square", "clip")]
        if not keys:
            return
        key, wave = self.chance.choice(keys), self.chance.choice(self.waves)
        self._think(key, self.chance.choice(_TEXTS))
        offered = self.pair.move(lambda run: run.attach_capture(key, wave))
        self.offered = offered if isinstance(offered, Proposal) else self.offered

    def take_offered(self) -> None:
        """What a capture offered, perhaps after it was thought of."""
        assert self.offered is not None
        offered, self.offered = self.offered, None
        for line in offered.lines:
            self._take(line.key, line.text, sure=True)

    def end(self) -> None:
        """The run ends, perhaps for now."""
        for fails in self._tries():
            self.pair.move(lambda run: run.end("enough"), fails=fails)

    def resume(self) -> None:
        """Another day."""
        self.doubted = None
        self.pair.resume()

    def _take(self, key: str, text: str, *, sure: bool) -> None:
        self._think(key, text)
        self.pair.clock.advance(self.chance.choice(_SECONDS))
        for fails in self._tries():
            # What could not be kept may be typed otherwise then.
            typed = self.chance.choice((text, text, self.chance.choice(_TEXTS)))
            if not fails and self.chance.random() < 0.9:
                typed = text
            self._told(
                self.pair.move(lambda run, raw=typed: run.take(key, raw, sure=sure), fails=fails)
            )

    def _tries(self) -> tuple[bool, ...]:
        """Whether the disk fails: first, and then no longer."""
        return self.chance.choice(((False,),) * 8 + ((True, False), (True,), (True, True, False)))

    def _told(self, came: object) -> None:
        if isinstance(came, Outcome):
            self.came[f"  {came.status.value}"] += 1
            if came.status is Status.DOUBTED:
                self.doubted = came
        else:
            self.came["  not kept"] += 1

    def _think(self, key: str, text: str) -> None:
        """Work out ahead what is typed, half typed, or something else altogether."""
        if self.chance.random() < 0.3:
            return
        for _ in range(self.chance.choice((1, 1, 2, 3))):
            at, prompts = key, self.pair.run.prompts
            if self.chance.random() < 0.3:
                # mostly beside it: the same text there is another answer
                beside = [each for each in prompts if each.of == self.pair.run.prompt(key).of]
                at = self.chance.choice(beside if self.chance.random() < 0.7 else prompts).key
            thought = self.chance.choice(
                (text, text[: self.chance.randint(0, len(text))], self.chance.choice(_TEXTS))
            )
            self.pair.run.foresee(at, thought)
            self.came["thoughts"] += 1


def one_walk(name: str, chance: random.Random, folder: Path, moves: int) -> Counter[str]:
    """Make so many moves in a procedure; gives what they came to.

    Raises:
        AssertionError: The two runs do not show the same.
    """
    text = (procedures_folder() / f"{name}.toml").read_text(encoding="utf-8")
    plan = plan_from_texts(text, unit_text(), bench_text(), name)
    faults = [(each, chance.choice((0.4, 1.0))) for each in chance.sample(tuple(FAULTS), 2)]
    bench = RehearsalBench(chance.randrange(1000), plan.unit, plan.bench, faults)
    pair, came = Pair(plan, folder, chance.random() < 0.15), Counter[str]()
    hand = Hand(pair, bench, chance, write_waves(folder), came)
    try:
        hand.get_on(chance.choice((0, 12, 20, 40, 80)))
        for _ in range(moves):
            hand.move()
            came["moves"] += 1
        came["flags at the end"] += len(pair.run.flags())
        came["results at the end"] += len(pair.run.results())
    finally:
        pair.close()
    return came


def hunt(walks: int, moves: int, seed: int, seconds: float = float("inf")) -> Counter[str]:
    """Walk so many times, or until the time is up; gives what came of all moves."""
    came, began = Counter[str](), time.monotonic()
    for number in range(walks):
        if time.monotonic() - began > seconds:
            break
        chance = random.Random(seed * 1_000_003 + number)
        name = PROCEDURES[number % len(PROCEDURES)]
        with tempfile.TemporaryDirectory() as folder:
            try:
                came += one_walk(name, chance, Path(folder), moves)
            except Exception as error:
                error.add_note(f"walk {number} of seed {seed}, {name}")
                raise
        came["walks"] += 1
    return came


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--walks", type=int, default=60)
    parser.add_argument("--moves", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=20.0)
    chosen = parser.parse_args()
    began = time.monotonic()
    came = hunt(chosen.walks, chosen.moves, chosen.seed, 60.0 * chosen.minutes)
    print(f"seed {chosen.seed}, {time.monotonic() - began:.0f} s")
    for kind, count in sorted(came.items()):
        print(f"  {kind:20} {count}")
    print("  runs that differed   0")


if __name__ == "__main__":
    main()
