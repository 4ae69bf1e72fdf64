"""What the journal costs: an append against a bare write and fsync, and resuming a long run.

    python -m tests.benchmarks.journal_append [FOLDER] [--appends N] [--events N ...]

FOLDER (default: the system's folder for temporary files) decides which disk is measured; a
folder in memory shows the journal's own share. Prints, asserts nothing.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from statistics import quantiles

from stepwise.journal import Journal, fold
from stepwise.journal.event import NO_LINE, Event, encode, instant_text

APPENDS = 500
AT = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)


def reading(number: int) -> dict[str, object]:
    return {
        "key": f"level/A/8/{number}", "typed": "2.0 on 3 x10", "value": 20.0, "unit": "V",
        "uncertainty": 0.26, "meter": "pointer", "verdict": "in spec", "probability": 0.993,
    }  # fmt: skip


def milliseconds(act: Callable[[int], object], times: int) -> list[float]:
    taken = []
    for number in range(times):
        start = time.perf_counter()
        act(number)
        taken.append(1000 * (time.perf_counter() - start))
    return taken


def show(what: str, taken: list[float]) -> None:
    cuts = quantiles(taken, n=100)
    print(f"{what:<32} median {cuts[49]:8.3f} ms   p95 {cuts[94]:8.3f} ms")


def appended(folder: Path, appends: int) -> tuple[list[float], list[float], int]:
    """Bare writes with their fsync, appends of a journal [ms], and the bytes of each."""
    line = encode(Event(1, instant_text(AT), "reading", reading(1)), NO_LINE).line
    descriptor = os.open(folder / "bare", os.O_WRONLY | os.O_CREAT | os.O_APPEND)

    def bare(_: int) -> None:
        os.write(descriptor, line)
        os.fsync(descriptor)

    log = folder / "log"
    log.mkdir()
    with Journal.create(log) as journal:
        # In turns, because a disk's speed changes from one moment to the next.
        bare_taken, journal_taken = [], []
        for _ in range(10):
            bare_taken += milliseconds(bare, appends // 10)
            journal_taken += milliseconds(
                lambda number: journal.append("reading", reading(number), AT), appends // 10
            )
    os.close(descriptor)
    return bare_taken, journal_taken, len(line)


def resume(folder: Path, count: int) -> None:
    log = folder / f"log-{count}"
    log.mkdir()
    lines, previous = [], NO_LINE
    for seq in range(1, count + 1):
        line, previous, _ = encode(Event(seq, instant_text(AT), "reading", reading(seq)), previous)
        lines.append(line)
    (log / "journal.jsonl").write_bytes(b"".join(lines))

    def once(_: int) -> None:
        with Journal.open(log) as journal:
            fold(journal.events)

    show(f"open and fold {count} events", milliseconds(once, 5))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?")
    parser.add_argument("--appends", type=int, default=APPENDS)
    parser.add_argument("--events", type=int, nargs="*", default=[1_000, 10_000, 40_000])
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=options.folder) as made:
        bare_taken, journal_taken, size = appended(Path(made), options.appends)
        show(f"write + fsync of {size} bytes", bare_taken)
        show("Journal.append", journal_taken)
        for count in options.events:
            resume(Path(made), count)


if __name__ == "__main__":
    main()
