"""Journals that were damaged in every way: found, located, and readable up to there.

python -m tests.trust.damaging [--mutations 10000] [--seed 1]
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from stepwise.cli import main as command
from stepwise.errors import JournalError
from stepwise.journal import read_journal
from stepwise.run import Run, read_run
from tests.run.plans import Clock, answer_for, plan

Lines = list[bytes]
Mutation = Callable[[Lines, random.Random], tuple[Lines, int | None]]
"""Lines and chance -> lines, and the place of the first line that is not as it was; None where
what is left is a sound journal of what came before (whole lines cut off the end)."""


def flip(lines: Lines, chance: random.Random) -> tuple[Lines, int | None]:
    """One bit of one byte."""
    place = chance.randrange(len(lines))
    line = bytearray(lines[place])
    line[chance.randrange(len(line))] ^= 1 << chance.randrange(8)
    return [*lines[:place], bytes(line), *lines[place + 1 :]], place


def remove(lines: Lines, chance: random.Random) -> tuple[Lines, int | None]:
    """One whole line."""
    place = chance.randrange(len(lines))
    return [*lines[:place], *lines[place + 1 :]], place if place < len(lines) - 1 else None


def double(lines: Lines, chance: random.Random) -> tuple[Lines, int | None]:
    """One line twice."""
    place = chance.randrange(len(lines))
    return [*lines[: place + 1], *lines[place:]], place + 1


def swap(lines: Lines, chance: random.Random) -> tuple[Lines, int | None]:
    """Two lines."""
    first, second = sorted(chance.sample(range(len(lines)), 2))
    mixed = [*lines]
    mixed[first], mixed[second] = mixed[second], mixed[first]
    return mixed, first


def cut(lines: Lines, chance: random.Random) -> tuple[Lines, int | None]:
    """The end, at any byte."""
    whole = b"".join(lines)
    left = whole[: chance.randrange(1, len(whole))]
    return left.splitlines(keepends=True), None


def overwrite(lines: Lines, chance: random.Random) -> tuple[Lines, int | None]:
    """A stretch of one line, with anything that is no newline."""
    place = chance.randrange(len(lines))
    line = lines[place]
    start = chance.randrange(len(line) - 1)
    stop = min(len(line) - 1, start + chance.randint(1, 40))
    fresh = bytes(chance.choice(range(11, 256)) for _ in range(start, stop))
    changed = line[:start] + fresh + line[stop:]
    return [*lines[:place], changed, *lines[place + 1 :]], place if changed != line else None


MUTATIONS: tuple[Mutation, ...] = (flip, remove, double, swap, cut, overwrite)


def hunt(mutations: int, seed: int, folder: Path) -> Counter[str]:
    """Damage a journal so many times and read it by every way in.

    Raises:
        AssertionError: A damage was not found, was found elsewhere, or took what came before
            it along; or a command ended otherwise than with its sentence.
    """
    chance, came = random.Random(seed), Counter[str]()
    with Run.start(plan(), folder, Clock()) as run:
        while (prompt := run.next_prompt()) is not None:
            run.take(prompt.key, answer_for(prompt.point), sure=True)
        run.end("done")
        log = run.folder
    journal = log / "journal.jsonl"
    whole = journal.read_bytes()
    lines = whole.splitlines(keepends=True)
    for _ in range(mutations):
        mutation = chance.choice(MUTATIONS)
        changed, place = mutation(lines, chance)
        content = b"".join(changed)
        if content == whole:
            continue
        journal.write_bytes(content)
        came[f"{mutation.__name__}: {_read(log, lines, content, place)}"] += 1
    journal.write_bytes(whole)
    return came


def _read(log: Path, lines: Lines, content: bytes, place: int | None) -> str:
    record = read_journal(log)
    sound = _sound_lines(lines, content)
    assert len(record.events) == sound, f"{len(record.events)} of {sound} sound lines are read"
    if place is not None and content.count(b"\n") > place:
        assert record.damages, f"a damage of line {place + 1} was not found"
        assert record.damages[0].line == place + 1, (record.damages[0], place + 1)
    try:
        view = read_run(log)
    except JournalError as error:
        assert "\n" not in str(error)
    else:
        assert bool(view.warnings) == bool(record.damages or record.torn is not None)
    assert command(["check", str(log)]) in (0, 1)
    is_found = record.damages or record.torn is not None
    return "found" if is_found else "cut between two lines, what is left is sound"


def _sound_lines(lines: Lines, content: bytes) -> int:
    """How many whole lines from the first on are as they were."""
    for count, (line, now) in enumerate(
        zip(lines, content.splitlines(keepends=True), strict=False)
    ):
        if line != now:
            return count
    return min(len(lines), content.count(b"\n"))


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mutations", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        import contextlib
        import io

        with contextlib.redirect_stdout(io.StringIO()):
            came = hunt(chosen.mutations, chosen.seed, Path(folder))
    print(f"{sum(came.values())} damaged journals, seed {chosen.seed}")
    for what, count in sorted(came.items()):
        print(f"  {what:60} {count}")


if __name__ == "__main__":
    main()
