"""Reading a journal back, whatever has become of it."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from stepwise.errors import JournalError
from stepwise.journal.event import NO_LINE, BrokenLineError, Event, decode, decode_and_hash
from stepwise.journal.folder import JOURNAL_NAME


@dataclass(frozen=True, slots=True)
class Damage:
    """One place where a journal is not what was written."""

    line: int
    """The line in the file, counted from 1."""
    reason: str
    """The rest of a sentence that begins with "this line"."""


@dataclass(frozen=True, slots=True)
class Record:
    """What a journal holds."""

    path: Path
    """The file."""
    events: tuple[Event, ...]
    """Everything before the first damage."""
    damages: tuple[Damage, ...]
    """Every damage, in the order of the lines. To follow a broken line is none."""
    torn: bytes | None
    """What stands behind the last newline: a line whose writing was cut off, so it was never
    reported as kept. None where the file ends as it should."""

    @property
    def is_whole(self) -> bool:
        """Whether every byte of the file is accounted for."""
        return not self.damages and self.torn is None


def read_journal(folder_or_file: Path) -> Record:
    """Read and verify a journal. Nothing is locked or changed.

    While a run is going on, the line being written just now may show as torn.

    Args:
        folder_or_file: A log's folder, or its journal.

    Returns:
        What it holds, with every damage located. Content never raises.

    Raises:
        JournalError: There is no such file, or it cannot be read at all.
    """
    path = journal_path(folder_or_file)
    return examine(path, read_content(path))


def journal_path(folder_or_file: Path) -> Path:
    """The journal's own file, for a folder or for the file itself."""
    return folder_or_file / JOURNAL_NAME if folder_or_file.is_dir() else folder_or_file


def read_content(path: Path) -> bytes:
    """The bytes of a journal.

    Raises:
        JournalError: There is no such file, it is no regular file, or it cannot be read.
    """
    try:
        # A pipe or a device in its place would be waited for without end.
        if path.exists() and not path.is_file():
            raise JournalError(path, "is not a file that can hold a journal")
        return path.read_bytes()
    except FileNotFoundError as error:
        raise JournalError(path, "there is no journal here") from error
    except OSError as error:
        if isinstance(error, JournalError):
            raise
        raise JournalError(path, f"cannot be read: {error.strerror}") from error


def examine(path: Path, content: bytes) -> Record:
    """Verify the bytes of a journal.

    Args:
        path: Where they come from; only named in the result.
        content: Any bytes.

    Returns:
        What they hold, with every damage located.
    """
    *bodies, tail = content.split(b"\n")
    if _is_line_without_its_newline(tail):
        bodies.append(tail[:-1])
        chain = _follow(bodies)
        damage = Damage(len(bodies), "was changed after it was written: its newline is gone")
        events = chain.events if chain.damages else chain.events[:-1]
        return Record(path, tuple(events), (*chain.damages, damage), None)
    with _no_collection():
        chain = _follow(bodies)
    return Record(path, tuple(chain.events), tuple(chain.damages), tail or None)


@contextmanager
def _no_collection() -> Iterator[None]:
    """No search for garbage meanwhile: of what is read nothing is, and a third of the time goes."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@dataclass(slots=True)
class _Chain:
    events: list[Event]
    damages: list[Damage]


def _follow(bodies: list[bytes]) -> _Chain:
    """Walk the lines (without their newlines) and hold each against the one before it."""
    chain = _Chain([], [])
    previous_hash: str | None = NO_LINE
    previous_seq = 0
    for number, body in enumerate(bodies, start=1):
        line = body + b"\n"
        try:
            event, claimed, own_hash = decode_and_hash(line)
        except BrokenLineError as broken:
            chain.damages.append(Damage(number, str(broken)))
            # That the next line vouches for bytes that are no more is this same damage.
            previous_hash = None
            continue
        reason = _misfit(event.seq, previous_seq, previous_hash in (None, claimed))
        if reason and previous_hash is not None:
            chain.damages.append(Damage(number, reason))
        if not chain.damages:
            chain.events.append(event)
        previous_hash, previous_seq = own_hash, event.seq
    return chain


def _misfit(seq: int, previous_seq: int, is_chained: bool) -> str | None:
    if seq > previous_seq + 1:
        missing = seq - previous_seq - 1
        return f"has number {seq}: {missing} before it {'are' if missing > 1 else 'is'} missing"
    if seq <= previous_seq:
        return f"has number {seq} but stands after {previous_seq}: it was moved or doubled"
    if not is_chained:
        return "does not follow the line before it: one of the two was put in place of another"
    return None


def _is_line_without_its_newline(tail: bytes) -> bool:
    """Whether a tail is a whole line with another byte for its newline; no cut leaves that."""
    try:
        decode(tail[:-1] + b"\n")
    except BrokenLineError:
        return False
    return True
