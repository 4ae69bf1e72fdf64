"""A disk that fails: every call by which a journal is written, failing in turn.

    python -m tests.trust.failing

A whole small run is played once for each call (open, write, fsync, ftruncate, close, rename,
…), each place at which it is called, and each error. What was told as kept must be there, and
what was not kept must have been told in a sentence.
"""

from __future__ import annotations

import errno
import os
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from stepwise.errors import JournalError, StepwiseError
from stepwise.journal import read_journal
from stepwise.run import Run, Status
from tests.run.plans import Clock, answer_for, plan

CALLS = ("open", "write", "fsync", "ftruncate", "close", "replace", "unlink", "mkdir", "fstat")
ERRORS = {
    "disk full": errno.ENOSPC,
    "input/output error": errno.EIO,
    "read-only": errno.EROFS,
    "interrupted": errno.EINTR,
}
_ANSWERS = 6
"""Answers that a run is played for: every kind of line of a journal is among them."""


@dataclass
class Fault:
    """One call that fails at its nth use, once or from then on."""

    call: str
    at: int
    error: int
    stays: bool
    used: int = 0
    failed: int = 0

    def fails_now(self) -> bool:
        """Count a use; whether this one fails."""
        self.used += 1
        fails = self.used >= self.at if self.stays else self.used == self.at
        self.failed += fails
        return fails


@dataclass
class Tally:
    """What came of all faults."""

    plays: int = 0
    told: int = 0
    """Answers that were told as kept."""
    refused: int = 0
    """Errors that were told in a sentence."""
    never_started: int = 0
    came: Counter[str] = field(default_factory=Counter)


@contextmanager
def failing(fault: Fault) -> Iterator[None]:
    """Let one call of the system fail."""
    real: Callable[..., Any] = getattr(os, fault.call)

    def call(*arguments: Any, **more: Any) -> Any:
        if fault.fails_now():
            if fault.call == "close":
                real(*arguments, **more)  # a failed close has closed all the same
            raise OSError(fault.error, os.strerror(fault.error))
        return real(*arguments, **more)

    setattr(os, fault.call, call)
    try:
        yield
    finally:
        setattr(os, fault.call, real)


def play(fault: Fault, logs: Path, tally: Tally) -> None:
    """Play a run on a disk that fails, then look at what is there once it works again.

    Raises:
        AssertionError: Something told as kept is missing or altered, an error was no sentence,
            or the run cannot be carried on.
    """
    told: dict[str, str] = {}
    folder: Path | None = None
    with failing(fault):
        try:
            folder = _write(logs, told, tally)
        except StepwiseError as error:
            _must_be_a_sentence(error)
            tally.never_started += 1
    tally.plays += 1
    tally.told += len(told)
    tally.came[f"{fault.call}: {'failed' if fault.failed else 'not called so often'}"] += 1
    folder = folder or _folder_of(logs)
    if folder is None:
        assert not told
        return
    _compare(folder, told)


def _write(logs: Path, told: dict[str, str], tally: Tally) -> Path:
    run = Run.start(plan(), logs, Clock())
    try:
        for _ in range(2 * _ANSWERS):
            prompt = run.next_prompt()
            if prompt is None or len(told) >= _ANSWERS:
                break
            raw = answer_for(prompt.point)
            try:
                outcome = run.take(prompt.key, raw, sure=True)
            except JournalError as error:
                _must_be_a_sentence(error)
                tally.refused += 1
                continue
            assert outcome.status in (Status.KEPT, Status.CONFIRMED)
            told[prompt.key] = raw
        return run.folder
    finally:
        try:
            run.close()
        except JournalError as error:
            _must_be_a_sentence(error)


def _must_be_a_sentence(error: StepwiseError) -> None:
    said = str(error)
    assert said.strip(), repr(error)
    assert "\n" not in said
    assert "Errno" not in said, said


def _folder_of(logs: Path) -> Path | None:
    found = [each for each in logs.iterdir() if (each / "journal.jsonl").exists()]
    return found[0] if found else None


def _compare(folder: Path, told: dict[str, str]) -> None:
    record = read_journal(folder)
    assert not record.damages, record.damages
    kept = {e.data["key"]: e.data["typed"] for e in record.events if "key" in e.data}
    missing = {key: raw for key, raw in told.items() if kept.get(key) != raw}
    assert not missing, f"told as kept, and gone: {missing}"
    # At most the one line in hand may be there without having been told.
    assert len(kept) <= len(told) + 1, (kept, told)
    if not record.events:
        assert not told
        return
    with Run.resume(folder, Clock()) as run:
        while (prompt := run.next_prompt()) is not None:
            run.take(prompt.key, answer_for(prompt.point), sure=True)
        assert run.is_complete()


def every_fault(most: int) -> Iterator[Fault]:
    """Each call, at each of its first uses, with each error, once and for good."""
    for call in CALLS:
        for at in range(1, most + 1):
            for error in ERRORS.values():
                for stays in (False, True):
                    yield Fault(call, at, error, stays)


def hunt(most: int) -> Tally:
    """Play every fault, each on a fresh folder."""
    tally = Tally()
    for fault in every_fault(most):
        with tempfile.TemporaryDirectory() as folder:
            play(fault, Path(folder), tally)
    return tally


def main() -> None:
    """Print the counts."""
    tally = hunt(16)
    print(f"{tally.plays} runs on a disk that fails: {tally.told} answers told as kept")
    print(f"  told in a sentence      {tally.refused}")
    print(f"  never started           {tally.never_started}")
    for what, count in sorted(tally.came.items()):
        print(f"  {what:38} {count}")
    print("  lost or changed         0")


if __name__ == "__main__":
    main()
