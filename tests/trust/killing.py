"""The real program, killed at random moments: what it showed as kept is in its journal.

    python -m tests.trust.killing [--kills 500] [--seed 1]

A rehearsal is driven by keys through a pseudo-terminal whose contents a terminal emulator
keeps (pyte), so that what is compared with the journal is what a person could have read.
"""

from __future__ import annotations

import argparse
import random
import re
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import pyte

from stepwise.journal import read_journal
from stepwise.run import read_run
from tests.trust.terminal import COLUMNS, ROWS, Terminal

_TAKEN = re.compile(r"(\d+) of (\d+) taken")
_KEYS = (
    b"*", b"*", b"*", b"*", b"/1", b"/", b"+\r", b"\x0eseen\r", b"--\r*", b"\x1b", b"y",
    b"12", b"1.9", b"\r", b"\x15",
)  # fmt: skip


@dataclass
class Tally:
    """What came of the kills."""

    kills: int = 0
    runs: int = 0
    shown: int = 0
    """Answers that were shown as taken when the program was killed, over all kills."""
    torn: int = 0
    """Last lines whose writing was cut off."""


class Glass:
    """What stands on the terminal."""

    def __init__(self, terminal: Terminal) -> None:
        self._terminal = terminal
        self._screen = pyte.Screen(COLUMNS, ROWS)
        self._stream = pyte.ByteStream(self._screen)
        self._fed = 0

    def taken(self) -> int | None:
        """How many answers it says are taken."""
        fresh = bytes(self._terminal.seen[self._fed :])
        self._fed = len(self._terminal.seen)
        self._stream.feed(fresh)
        found = _TAKEN.search(self._screen.display[0])
        return int(found[1]) if found else None


def one_life(arguments: list[str], chance: random.Random, tally: Tally) -> bool:
    """Start the program, press keys, kill it; gives whether it got as far as its sheet.

    Raises:
        AssertionError: Something that was shown as taken is not in the journal.
    """
    terminal = Terminal(["-m", "stepwise", *arguments])
    glass = Glass(terminal)
    try:
        if not terminal.watch(lambda seen: b"taken" in seen, 60.0):
            said = bytes(terminal.seen[-400:])
            raise AssertionError(f"the program never showed its sheet: {said!r}")
        end = time.monotonic() + chance.uniform(0.0, 1.2)
        while time.monotonic() < end and not terminal.is_gone:
            terminal.write(b"".join(chance.choices(_KEYS, k=chance.randint(1, 4))))
            terminal.read(chance.uniform(0.0, 0.05))
        terminal.kill()
        tally.kills += 1
        shown = glass.taken()
        if shown is not None:
            tally.shown += shown
            folder = Path(arguments[-1])
            if not (folder / "journal.jsonl").exists():
                folder = max(folder.iterdir())
            compare(folder, shown, tally)
        return shown is not None
    finally:
        terminal.close()


def compare(folder: Path, shown: int, tally: Tally) -> None:
    """Hold what was shown against what is on the disk."""
    record = read_journal(folder)
    assert not record.damages, record.damages
    tally.torn += record.torn is not None
    kept = len(read_run(folder).run.sheet())
    assert kept >= shown, f"{shown} were shown as taken, {kept} are in {folder}"


def hunt(kills: int, seed: int, logs: Path) -> Tally:
    """Kill the program so many times, carrying on with each run until it is complete."""
    chance, tally = random.Random(seed), Tally()
    folder: Path | None = None
    lives = 0
    while tally.kills < kills:
        if folder is None:
            arguments = ["rehearse", "quick-check", "--logs", str(logs)]
            tally.runs += 1
        else:
            arguments = ["resume", str(folder)]
        one_life(arguments, chance, tally)
        lives += 1
        folder = max(logs.iterdir())
        if lives % 12 == 0 or read_run(folder).run.is_complete():
            folder = None
    return tally


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        tally = hunt(chosen.kills, chosen.seed, Path(folder))
    print(f"killed {tally.kills} times in {time.monotonic() - began:.0f} s, seed {chosen.seed}")
    for name, count in vars(tally).items():
        print(f"  {name:16} {count}")
    print("  lost or changed  0")


if __name__ == "__main__":
    main()
