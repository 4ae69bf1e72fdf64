"""Readings sent faster than they can be written: each lands on the line it was meant for.

    python -m tests.trust.overtaking [--readings 10000] [--seed 1]

Whole readings go through a pseudo-terminal at full speed, as typed ahead, as keypad keys of the
newer keyboard protocol, and as bracketed pastes followed by Enter as a scanner sends them, while
every write of the journal is slowed. Now and then something goes in that is no reading, or
several lines are pasted at once: those must be refused, and nothing after them may move.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from stepwise.run import read_run
from tests.trust.terminal import Terminal

_AT_A_TIME = 250
_SLOW = 0.004
"""Seconds that each write takes longer."""
_KEYPAD = {".": 57409, "-": 57412, **{str(digit): 57399 + digit for digit in range(10)}}
"""Functional keys of the keypad in the keyboard protocol that reports them."""


@dataclass
class Tally:
    """What came of the readings."""

    sent: int = 0
    kept: int = 0
    refused: int = 0
    seconds: float = 0.0


def typed(text: str) -> bytes:
    """As fingers send it."""
    return text.encode() + b"\r"


def from_keypad(text: str) -> bytes:
    """As a keypad sends its point and minus; digits come as plain characters."""
    return "".join(f"\x1b[{_KEYPAD[c]}u" if c in ".-" else c for c in text).encode() + b"\r"


def scanned(text: str) -> bytes:
    """As a scanner sends it: pasted, then Enter."""
    return b"\x1b[200~" + text.encode() + b"\x1b[201~\r"


def nonsense(chance: random.Random) -> bytes:
    """Something that must be refused; what it leaves in the entry is wiped by the next keys."""
    several = b"\x1b[200~1.5\n2.5\n\x1b[201~"
    return chance.choice((b"12 kohm\r\x15", several, b"abc\r\x15", b"\r", b"1.2.3\r\x15"))


def one_sheet(count: int, chance: random.Random, tally: Tally) -> None:
    """Send so many readings to one sheet.

    Raises:
        AssertionError: A reading is missing, altered, joined, or on another line.
    """
    readings = [f"{chance.uniform(-30, 30):.{chance.randint(0, 3)}f}" for _ in range(count)]
    keys, refused = bytearray(), 0
    for text in readings:
        if chance.random() < 0.04:
            keys += nonsense(chance)
            refused += 1
        keys += chance.choice((typed, typed, from_keypad, scanned))(text)
    with tempfile.TemporaryDirectory() as folder:
        command = ["-m", "tests.trust.many_readings", folder, str(count), str(_SLOW)]
        terminal = Terminal(command, size=(80, 24))
        try:
            assert terminal.read_until(b"Row 0", 60.0), bytes(terminal.seen[-500:])
            began = time.monotonic()
            terminal.write(bytes(keys))
            done = terminal.read_until(b"Everything is answered", 30.0 + 0.2 * count)
            tally.seconds += time.monotonic() - began
            terminal.kill()
        finally:
            terminal.close()
        (log,) = (each for each in Path(folder).iterdir() if each.is_dir())
        lines = [(line.key, line.typed) for line in read_run(log).run.sheet()]
    wanted = [(f"rows///row_{number}", text) for number, text in enumerate(readings)]
    wrong = [pair for pair in zip(wanted, lines, strict=False) if pair[0] != pair[1]]
    assert not wrong, f"the first that is wrong (sent, kept): {wrong[0]}"
    assert len(lines) == len(wanted), f"{len(wanted)} were sent, {len(lines)} are kept"
    assert done, f"{len(lines)} kept, gone: {terminal.is_gone}; {bytes(terminal.seen[-1500:])!r}"
    tally.sent += count
    tally.kept += len(lines)
    tally.refused += refused


def hunt(readings: int, seed: int, at_a_time: int = _AT_A_TIME) -> Tally:
    """Send so many readings in all."""
    chance, tally = random.Random(seed), Tally()
    while tally.sent < readings:
        one_sheet(min(at_a_time, readings - tally.sent), chance, tally)
    return tally


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--readings", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    tally = hunt(chosen.readings, chosen.seed)
    print(
        f"{tally.sent} readings sent, seed {chosen.seed}, each write {_SLOW * 1000:.0f} ms slower"
    )
    print(f"  kept on their lines     {tally.kept}")
    print(f"  refused between them    {tally.refused}")
    print(f"  lost, joined or moved   {tally.sent - tally.kept}")
    print(f"  readings a second       {tally.kept / tally.seconds:.0f}")


if __name__ == "__main__":
    main()
