"""The real screens, typed at with rests of any length, beside screens that never work ahead.

    python -m tests.trust.resting [--walks 100] [--words 40] [--seed 1]

The same keys with the same rests go to both, and the same moments pass by the clock. Wherever a
hand stops, the glass must say the same, and so must the journals, byte for byte.
"""

from __future__ import annotations

import argparse
import asyncio
import random
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from textual import events
from textual.pilot import Pilot

from stepwise.cli.services import services
from stepwise.procedure import procedures_folder
from stepwise.rehearsal import FAULTS, RehearsalBench, bench_text, unit_text
from stepwise.run import Plan, Run, plan_from_texts
from stepwise.tui import Start, StepwiseApp
from stepwise.tui.screens.sheet import SheetScreen
from stepwise.tui.widgets import seen
from tests.run.plans import Clock

_NAMED = {
    "⏎": "enter", "⌫": "backspace", "⎋": "escape", "⇡": "up", "⇣": "down", "←": "left",
    "N": "ctrl+n", "F": "ctrl+f", "O": "ctrl+o", "T": "ctrl+t", "S": "ctrl+s", "U": "ctrl+u",
    "R": "ctrl+r", "L": "ctrl+l", "Q": "ctrl+q",
}  # fmt: skip
_OPENS = "FOQ?⎋"
"""Keys that lay a dialog above the sheet, or take it away: what was typed ahead of it would go
to either, by chance."""
_WORDS = (
    "y", "y", "y", "+", "n", "-⏎", "35.0⏎", "-35⏎", "12⏎", "1.9 on 3 x10⏎", "2.0 on 3⏎", "flat⏎",
    "-4.5⏎", "-1⏎", "48 Vpp⏎", "350⏎", "/1", "/because⏎", "--⏎", "+⏎", "-⏎", "*⏎", "⇡⇡⏎", "⇣",
    "⎋", "12F⎋⏎", "3.5F⏎", "-4O⎋⏎", "7?⎋⏎", "46Qn⏎", "⌫⌫⏎", "12N hums⏎⏎", "N⎋", "T", "S", "2.0U",
    "=⏎", "⏎", "9", "zzz⏎", "1e400⏎", "34←.⏎", "34⌫5⏎", "L",
    "P12\n", "P-3.1", "P2.0 on 3\n-4.5\n", "P\n",
)  # fmt: skip
"""A P pastes the rest of its word; a lower-case word is typed."""
_RESTS = (0.0, 0.0, 0.0, 0.01, 0.025, 0.029, 0.031, 0.035, 0.05)
_SECONDS = (0.0, 0.0, 3.0, 20.0)
_BY_BENCH = "R"


@dataclass(frozen=True, slots=True)
class Stroke:
    """One key or one paste, after a rest."""

    key: str
    rest: float
    seconds: float
    looks: bool
    """The hand stops after it: what the glass says then counts."""


def strokes(chance: random.Random, words: int) -> tuple[Stroke, ...]:
    """What is typed."""
    made: list[Stroke] = []
    for word in chance.choices((*_WORDS, *[_BY_BENCH] * 40), k=words):
        keys = [word] if word.startswith("P") else list(word)
        for key in keys:
            rest = chance.choice(_RESTS)
            made.append(Stroke(key, rest, chance.choice(_SECONDS), looks=key in _OPENS))
        made[-1] = Stroke(key, rest, 0.0, looks=key in _OPENS or chance.random() < 0.4)
    return tuple(made)


async def _type(app: StepwiseApp, clock: Clock, typed: Sequence[Stroke]) -> list[str]:
    seen_then = []
    async with app.run_test(size=(100, 30)) as pilot:
        await _settle(pilot)
        for place, stroke in enumerate(typed):
            await asyncio.sleep(stroke.rest)
            if stroke.seconds:
                await _settle(pilot)
                clock.advance(stroke.seconds)
            if not app.is_running:
                break
            event = _event(stroke.key)
            event.time = float(place)  # each is pressed by itself, however fast they are posted
            app.post_message(event)
            if stroke.looks:
                await _settle(pilot)
                seen_then.append(_glass(app))
        await _settle(pilot)
        seen_then.append(_glass(app))
    return seen_then


def _event(key: str) -> events.Event:
    if key.startswith("P"):
        return events.Paste(key[1:])
    name = _NAMED.get(key, key)
    return events.Key(name, None if name != key else key)


async def _settle(pilot: Pilot[None]) -> None:
    for _ in range(4):
        await pilot.pause()


def _glass(app: StepwiseApp) -> str:
    return "\n".join(strip.text for strip in app.screen._compositor.render_strips())


def typed_at(plan: Plan, logs: Path, typed: Sequence[Stroke], *, foresees: bool, bench: int,
             faults: Sequence[tuple[str, float]]) -> tuple[list[str], bytes, int]:  # fmt: skip
    """Type at a fresh run; gives what the glass said, the journal, and how often it rested."""
    logs.mkdir()
    clock, thoughts = Clock(), []
    run = Run.start(plan, logs, clock)
    _start(run)
    foresee = SheetScreen._foresee

    def noting(screen: SheetScreen) -> None:
        thoughts.append(screen)
        if foresees:
            foresee(screen)

    rehearsal = RehearsalBench(bench, plan.unit, plan.bench, faults)
    app = StepwiseApp(services(logs), Start(run=run, bench=rehearsal))
    with (
        mock.patch.object(SheetScreen, "_foresee", noting),
        mock.patch.object(seen, "_SEEN_AFTER", 0.0),
        mock.patch.object(SheetScreen, "_tick", return_value=None),  # by another clock
    ):
        said = asyncio.run(_type(app, clock, typed))
    run.close()
    return said, (run.folder / "journal.jsonl").read_bytes(), len(thoughts)


def _start(run: Run) -> None:
    """Past the items that shut everything."""
    while (prompt := run.next_prompt()) is not None and prompt.hold:
        run.take(prompt.key, "y")


def one_walk(chance: random.Random, folder: Path, words: int) -> Counter[str]:
    """Type the same at both.

    Raises:
        AssertionError: The glass or the journals do not say the same.
    """
    name = chance.choice(("quick-check", "first-look", "thermal-soak"))
    text = (procedures_folder() / f"{name}.toml").read_text(encoding="utf-8")
    plan = plan_from_texts(text, unit_text(), bench_text(), name)
    faults, bench = [(chance.choice(tuple(FAULTS)), 1.0)], chance.randrange(1000)
    typed = strokes(chance, words)
    both = []
    for foresees in (True, False):
        logs = folder / "logs"  # the same for both, since the review names it
        both.append(typed_at(plan, logs, typed, foresees=foresees, bench=bench, faults=faults))
        logs.rename(folder / str(foresees))
    (here, mine, rested), (there, theirs, _) = both
    for place, (one, other) in enumerate(zip(here, there, strict=True)):
        assert one == other, f"at look {place}:\n{one}\n--- without working ahead\n{other}"
    assert mine == theirs
    return Counter(
        walks=1, strokes=len(typed), looks=len(here), rests=rested, events=mine.count(b"\n")
    )


def hunt(walks: int, words: int, seed: int) -> Counter[str]:
    """Walk so many times; gives the counts."""
    came: Counter[str] = Counter()
    for number in range(walks):
        with tempfile.TemporaryDirectory() as folder:
            try:
                came += one_walk(random.Random(seed * 1_000_003 + number), Path(folder), words)
            except Exception as error:
                error.add_note(f"walk {number} of seed {seed}")
                raise
    return came


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--walks", type=int, default=100)
    parser.add_argument("--words", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    began = time.monotonic()
    came = hunt(chosen.walks, chosen.words, chosen.seed)
    print(f"seed {chosen.seed}, {time.monotonic() - began:.0f} s")
    for kind, count in came.items():
        print(f"  {kind:10} {count}")


if __name__ == "__main__":
    main()
