"""Random walks over the keys of the real screens: the journal always equals the run in memory.

python -m tests.trust.walking [--walks 1000] [--seed 1]
"""

from __future__ import annotations

import argparse
import asyncio
import random
import tempfile
import time
from collections import Counter
from pathlib import Path

from textual import events

from stepwise.cli.services import services
from stepwise.journal import read_journal
from stepwise.rehearsal import RehearsalBench
from stepwise.run import Run, read_run
from stepwise.tui import Start, StepwiseApp
from tests.run.plans import Clock, plan

_NAMED = {
    "⏎": "enter", "⌫": "backspace", "⎋": "escape", "⇡": "up", "⇣": "down", "←": "left",
    "N": "ctrl+n", "F": "ctrl+f", "O": "ctrl+o", "T": "ctrl+t", "S": "ctrl+s", "U": "ctrl+u",
    "R": "ctrl+r", "P": "pageup", "D": "pagedown", "L": "ctrl+l", "Y": "ctrl+y", "G": "ctrl+g",
}  # fmt: skip
_WORDS = (
    "y", "y", "n", "+", "-", "*", "*", "*", "*", "*", "*", "*", "*", "*", "*", "y⏎", "35.0⏎", "-35⏎", "12⏎", "1.9 on 3 x10⏎", "2.0 on 3⏎",
    "flat⏎", "-4.5⏎", "-1⏎", "48 Vpp⏎", "350⏎", "/1", "/", "/because⏎", "--⏎", "+⏎", "-⏎", "*⏎",
    "⇡", "⇡⇡⏎", "⇣", "⎋", "⎋⎋", "?", "F", "F⏎", "O", "O⎋", "Nsaid⏎", "N⎋", "T", "S", "U", "⌫⌫",
    "R", "P", "D", "L", "Y", "G", "=⏎", "⏎", "⏎⏎", "9", "zzz⏎", "1e400⏎", "e⎋",
)  # fmt: skip
_REST = 0.04
"""Seconds that a hand rests before Enter: what was typed is worked out meanwhile."""


async def _walk(app: StepwiseApp, chance: random.Random, words: int) -> None:
    async with app.run_test(size=chance.choice(((80, 24), (100, 30), (40, 12)))) as pilot:
        await pilot.pause()
        # Mostly past the hold point, or the walks would hardly ever get beyond it.
        start = ["yy", "--⏎y--⏎y"] if chance.random() < 0.8 else []
        for word in [*start, *chance.choices(_WORDS, k=words)]:
            for key in word:
                if key == "⏎" and chance.random() < 0.2:
                    await pilot.pause(_REST)
                name = _NAMED.get(key, key)
                app.post_message(events.Key(name, None if name != key else key))
            if chance.random() < 0.3:
                await pilot.pause()
        await pilot.pause()


def one_walk(chance: random.Random, logs: Path, words: int) -> Counter[str]:
    """Walk once, sometimes on a rehearsal, sometimes on a run that was begun before.

    Raises:
        AssertionError: The journal and the run in memory do not say the same.
    """
    run = Run.start(plan(), logs, Clock())
    for _ in range(chance.choice((1, 1, 2))):
        bench = (
            RehearsalBench(3, run.plan.unit, run.plan.bench, []) if chance.random() < 0.8 else None
        )
        app = StepwiseApp(services(logs), Start(run=run, bench=bench))
        asyncio.run(_walk(app, chance, words))
        run.close()
        compare(run)
        run = Run.resume(run.folder, Clock())
    run.close()
    return Counter(event.kind for event in read_journal(run.folder).events)


def compare(run: Run) -> None:
    """Hold the run in memory against its journal, read again."""
    view = read_run(run.folder)
    assert not view.record.damages
    standing: dict[str, str] = {}
    again = view.run
    assert again.sheet() == run.sheet()
    assert again.results() == run.results()
    assert again.flags() == run.flags()
    assert again.state.answers == run.state.answers
    assert again.state.notes == run.state.notes
    order = [prompt.key for prompt in run.prompts]
    open_item = ""
    for event in view.record.events:
        # By the events alone: nothing is ever kept behind an item that is not confirmed.
        if event.kind in ("reading", "doubt", "confirm", "refuse", "skip"):
            key = str(event.data["key"])
            assert not open_item or order.index(key) <= order.index(open_item), (open_item, key)
            standing[key] = event.kind
            lists = (each.key for each in run.prompts if each.hold and each.kind == "confirm")
            open_item = next((each for each in lists if standing.get(each) == "refuse"), "")
    here, there = again.next_prompt(), run.next_prompt()
    assert (here and here.key) == (there and there.key)


def hunt(walks: int, seed: int, words: int = 40) -> Counter[str]:
    """Walk so many times; gives the kinds of events that came of it."""
    came: Counter[str] = Counter()
    for number in range(walks):
        with tempfile.TemporaryDirectory() as folder:
            came += one_walk(random.Random(seed * 1_000_003 + number), Path(folder), words)
    return came


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--walks", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    began = time.monotonic()
    came = hunt(chosen.walks, chosen.seed)
    print(f"{chosen.walks} walks in {time.monotonic() - began:.0f} s, seed {chosen.seed}")
    for kind, count in came.most_common():
        print(f"  {kind:10} {count}")
    print("  journals that were not the run in memory  0")


if __name__ == "__main__":
    main()
