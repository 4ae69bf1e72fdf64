"""What other processes, and their deaths, do to a journal."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from stepwise.errors import JournalError, JournalHeld
from stepwise.journal import Event, Journal, read_journal

At = Callable[[int], datetime]
Fill = Callable[[int], tuple[Event, ...]]

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills processes the POSIX way")

WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from stepwise.journal import Journal

folder = Path(sys.argv[1])
start = Journal.open if (folder / "journal.jsonl").exists() else Journal.create
with start(folder) as journal:
    while True:
        size = len(journal.events) * 37 % 9000
        event = journal.append("note", {"text": "x" * size}, datetime.now(UTC))
        sys.stdout.write(f"{event.seq}\\n")
        sys.stdout.flush()
"""

HOLDER = """
import sys
from pathlib import Path
from stepwise.journal import Journal

with Journal.open(Path(sys.argv[1])) as journal:
    print("held", flush=True)
    sys.stdin.read()
"""

DIES = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
from stepwise.journal import Journal

journal = Journal.open(Path(sys.argv[1]))
write = os.write
def half(descriptor, line):
    write(descriptor, line[: len(line) // 2])
    os._exit(9)
def whole(descriptor, line):
    write(descriptor, line)
    os._exit(9)
def nothing(*_):
    os._exit(9)
place = sys.argv[2]
if place == "before the write": os.write = nothing
if place == "half way": os.write = half
if place == "after the write": os.write = whole
if place == "in the sync": os.fsync = nothing
journal.append("note", {"text": "last words"}, datetime.now(UTC))
"""


def start(script: str, *arguments: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", script, *map(str, arguments)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def kill(process: subprocess.Popen[str]) -> str:
    """Kill a process outright; what it had said by then."""
    assert process.stdout is not None
    process.send_signal(signal.SIGKILL)
    # Not `communicate`: it passes over what `readline` has already taken into its buffer.
    said = process.stdout.read()
    process.communicate()
    assert process.returncode == -signal.SIGKILL
    return said


def test_every_acknowledged_event_survives_fifteen_kills(folder: Path) -> None:
    dice = random.Random(20260501)
    acknowledged = 0
    for _ in range(15):
        process = start(WRITER, folder)
        assert process.stdout is not None
        for _ in range(dice.randint(1, 60)):
            acknowledged = int(process.stdout.readline())
        # It goes on writing meanwhile, so the kill meets it anywhere in an append.
        rest = [line for line in kill(process).splitlines(keepends=True) if line.endswith("\n")]
        acknowledged = int(rest[-1]) if rest else acknowledged
        record = read_journal(folder)
        assert record.damages == ()
        # At most the one event in the making is there without having been acknowledged.
        assert len(record.events) in {acknowledged, acknowledged + 1}
    seqs = [event.seq for event in record.events]
    assert seqs == list(range(1, len(seqs) + 1))
    with Journal.open(folder) as journal:
        assert journal.events == record.events


@pytest.mark.parametrize(
    ("place", "is_there", "is_torn"),
    [
        ("before the write", False, False),
        ("half way", False, True),
        ("after the write", True, False),
        ("in the sync", True, False),
    ],
)
def test_a_death_at_each_step_of_an_append_loses_nothing_kept(
    folder: Path, fill: Fill, at: At, place: str, is_there: bool, is_torn: bool
) -> None:
    events = fill(3)
    process = start(DIES, folder, place)
    process.communicate()
    assert process.returncode == 9
    with Journal.open(folder) as journal:
        assert journal.events[:3] == events
        assert len(journal.events) == 3 + is_there
        assert (journal.set_aside is not None) == is_torn
        journal.append("resume", {}, at(5))
    assert read_journal(folder).is_whole


def test_a_log_held_by_another_process_is_refused_by_name_and_taken_after_its_kill(
    folder: Path, fill: Fill, at: At
) -> None:
    events = fill(2)
    holder = start(HOLDER, folder)
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    for take in (Journal.open, Journal.create):
        with pytest.raises(JournalHeld, match=rf"written by process {holder.pid} on .+ since 2"):
            take(folder)
    assert read_journal(folder).events == events  # reading needs no lock
    kill(holder)
    with Journal.open(folder) as journal:
        journal.append("resume", {}, at(3))
    assert read_journal(folder).is_whole


def test_a_log_is_held_within_one_process_too_and_free_after_close(folder: Path) -> None:
    first = Journal.create(folder)
    with pytest.raises(JournalHeld, match=f"process {os.getpid()} "):
        Journal.open(folder)
    first.close()
    Journal.open(folder).close()


def test_a_lock_file_of_junk_is_shown_without_control_characters(folder: Path) -> None:
    journal = Journal.create(folder)
    (folder / "journal.lock").write_bytes(b"\x1b[31m\xffred\n\0")
    with pytest.raises(JournalHeld) as caught:
        Journal.open(folder)
    assert caught.value.reason.isprintable()
    (folder / "journal.lock").write_bytes(b"")
    with pytest.raises(JournalHeld, match="another program"):
        Journal.open(folder)
    journal.close()


def test_a_file_system_without_locks_is_refused(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import errno
    import fcntl

    def no_locks(*_: object) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(fcntl, "flock", no_locks)
    with pytest.raises(JournalError, match="cannot be locked: No locks") as caught:
        Journal.create(folder)
    assert not isinstance(caught.value, JournalHeld)
    assert not (folder / "journal.jsonl").exists()


def test_no_file_stays_open_after_a_refusal(folder: Path, fill: Fill) -> None:
    fill(2)
    open_files = Path("/proc/self/fd")
    if not open_files.exists():
        pytest.skip("the system does not list open files")
    before = len(list(open_files.iterdir()))
    for _ in range(5):
        with pytest.raises(JournalError):
            Journal.create(folder)
    (folder / "journal.jsonl").write_bytes(b"damaged\n")
    for _ in range(5):
        with pytest.raises(JournalError):
            Journal.open(folder)
    assert len(list(open_files.iterdir())) == before
