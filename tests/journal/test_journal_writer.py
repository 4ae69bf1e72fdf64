from __future__ import annotations

import errno
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from hashlib import sha256
from pathlib import Path

import pytest

from stepwise.errors import JournalError
from stepwise.journal import Event, Journal, read_journal
from stepwise.journal.event import NO_LINE, decode

At = Callable[[int], datetime]
Fill = Callable[[int], tuple[Event, ...]]

FULL = OSError(errno.ENOSPC, "No space left on device")
BROKEN = OSError(errno.EIO, "Input/output error")


def raising(error: BaseException) -> Callable[..., int]:
    def fail(*_: object) -> int:
        raise error

    return fail


def test_a_new_journal_is_empty_and_whole(folder: Path) -> None:
    Journal.create(folder).close()
    record = read_journal(folder)
    assert record.events == ()
    assert record.is_whole
    with Journal.open(folder) as journal:
        assert journal.events == ()
        assert journal.set_aside is None


def test_an_event_is_on_the_disk_when_append_returns(folder: Path, at: At) -> None:
    with Journal.create(folder) as journal:
        event = journal.append("note", {"text": "fan\nnoise", "q": float("nan")}, at(1))
        assert read_journal(folder).events == (event,) == journal.events
    expected = {"text": "fan\nnoise", "q": "nan"}
    assert event == Event(1, "2026-05-01T09:00:20.000Z", "note", expected)


def test_each_line_carries_the_hash_of_the_line_before(folder: Path, fill: Fill) -> None:
    fill(5)
    lines = (folder / "journal.jsonl").read_bytes().splitlines(keepends=True)
    before = [NO_LINE, *(sha256(line).hexdigest() for line in lines)]
    assert [decode(line)[1] for line in lines] == before[:5]


def test_append_writes_once_and_syncs_after_it(
    folder: Path, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls = []
    write, sync = os.write, os.fsync

    def watched_write(descriptor: int, line: bytes) -> int:
        calls.append(("write", bytes(line)))
        return write(descriptor, line)

    def watched_sync(descriptor: int) -> None:
        calls.append(("sync", b""))
        sync(descriptor)

    with Journal.create(folder) as journal:
        monkeypatch.setattr(os, "write", watched_write)
        monkeypatch.setattr(os, "fsync", watched_sync)
        journal.append("note", {"text": "warm"}, at(1))
        monkeypatch.undo()
    assert calls == [("write", (folder / "journal.jsonl").read_bytes()), ("sync", b"")]


def test_create_and_open_sync_the_file_and_its_folder(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced = []
    sync = os.fsync

    def watched(descriptor: int) -> None:
        synced.append(os.fstat(descriptor).st_ino)
        sync(descriptor)

    monkeypatch.setattr(os, "fsync", watched)
    Journal.create(folder).close()
    Journal.open(folder).close()
    both = [(folder / "journal.jsonl").stat().st_ino, folder.stat().st_ino]
    assert synced == both + both


def test_an_opened_journal_goes_on_with_the_chain(folder: Path, fill: Fill, at: At) -> None:
    first = fill(3)
    with Journal.open(folder) as journal:
        assert journal.events == first
        resumed = journal.append("resume", {}, at(4))
    with Journal.open(folder) as journal:
        last = journal.append("end", {}, at(5))
    record = read_journal(folder)
    assert record.is_whole
    assert record.events == (*first, resumed, last)
    assert [event.seq for event in record.events] == [1, 2, 3, 4, 5]


def test_a_second_journal_in_one_folder_is_refused(folder: Path, fill: Fill) -> None:
    fill(2)
    before = (folder / "journal.jsonl").read_bytes()
    with pytest.raises(JournalError, match="a journal here already"):
        Journal.create(folder)
    assert (folder / "journal.jsonl").read_bytes() == before
    Journal.open(folder).close()  # the refusal left no lock


def test_a_folder_without_a_journal_is_refused(folder: Path) -> None:
    with pytest.raises(JournalError, match="no journal here"):
        Journal.open(folder)
    with pytest.raises(JournalError, match="cannot be locked"):
        Journal.create(folder / "missing")


def test_a_damaged_journal_is_refused_with_its_line_and_left_alone(
    folder: Path, fill: Fill
) -> None:
    fill(4)
    path = folder / "journal.jsonl"
    damaged = path.read_bytes().replace(b'"value":20.375', b'"value":21.375')
    path.write_bytes(damaged + b"torn")
    with pytest.raises(JournalError) as caught:
        Journal.open(folder)
    assert caught.value.line == 3
    assert path.read_bytes() == damaged + b"torn"
    with pytest.raises(JournalError, match="jsonl:3: this line was changed"):
        Journal.open(folder)  # and no lock was left


def test_a_torn_tail_is_set_aside_at_every_byte(folder: Path, fill: Fill, at: At) -> None:
    events = fill(3)
    path = folder / "journal.jsonl"
    whole = path.read_bytes()
    last = len(whole) - len(whole.splitlines(keepends=True)[-1])
    names = set()
    for cut in range(last + 1, len(whole)):
        path.write_bytes(whole[:cut])
        with Journal.open(folder) as journal:
            assert journal.events == events[:2]
            assert journal.set_aside is not None
            assert journal.set_aside.read_bytes() == whole[last:cut]
            names.add(journal.set_aside.name)
            again = journal.append(events[2].kind, events[2].data, at(3))
        assert again == events[2]
        assert path.read_bytes() == whole
    assert len(names) == len(whole) - last - 1
    assert {"journal.torn-01", "journal.torn-02"} <= names


@pytest.mark.parametrize("tail", [b"\0" * 4096, b"\xff\xfe", b"{", b"x" * 5_000_000])
def test_any_tail_without_newline_is_set_aside(folder: Path, fill: Fill, tail: bytes) -> None:
    events = fill(2)
    with (folder / "journal.jsonl").open("ab") as file:
        file.write(tail)
    with Journal.open(folder) as journal:
        assert journal.events == events
        assert journal.set_aside is not None
        assert journal.set_aside.read_bytes() == tail
    assert read_journal(folder).is_whole


def test_a_torn_tail_that_cannot_be_set_aside_stays_where_it_is(
    folder: Path, fill: Fill, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(2)
    with (folder / "journal.jsonl").open("ab") as file:
        file.write(b'{"seq":3')
    before = (folder / "journal.jsonl").read_bytes()
    write = os.write

    def no_room(descriptor: int, content: bytes) -> int:
        if bytes(content) == b'{"seq":3':
            raise FULL
        return write(descriptor, content)

    monkeypatch.setattr(os, "write", no_room)
    with pytest.raises(JournalError, match="cannot be set aside: No space"):
        Journal.open(folder)
    monkeypatch.undo()
    assert (folder / "journal.jsonl").read_bytes() == before
    assert not list(folder.glob("journal.torn-*"))
    Journal.open(folder).close()


def test_a_full_disk_keeps_nothing_and_the_next_try_goes_on(
    folder: Path, fill: Fill, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(2)
    with Journal.open(folder) as journal:
        monkeypatch.setattr(os, "write", raising(FULL))
        with pytest.raises(JournalError, match=r"not kept \(No space.*Make room on the disk"):
            journal.append("note", {"text": "lost"}, at(3))
        monkeypatch.undo()
        assert len(journal.events) == 2
        kept = journal.append("note", {"text": "kept"}, at(3))
    record = read_journal(folder)
    assert record.is_whole
    assert record.events[2:] == (kept,)


@pytest.mark.parametrize("taken", [1, 40, 200])
def test_a_short_write_is_taken_back(
    folder: Path, fill: Fill, at: At, monkeypatch: pytest.MonkeyPatch, taken: int
) -> None:
    fill(2)
    before = (folder / "journal.jsonl").read_bytes()
    write = os.write
    with Journal.open(folder) as journal:
        monkeypatch.setattr(os, "write", lambda fd, line: write(fd, line[:taken]))
        with pytest.raises(JournalError, match="this reading was not kept"):
            journal.append("note", {"text": "half"}, at(3))
        monkeypatch.undo()
        assert (folder / "journal.jsonl").read_bytes() == before
        journal.append("note", {"text": "whole"}, at(3))
    assert read_journal(folder).is_whole


def test_a_short_write_that_cannot_be_taken_back_ends_the_writer_not_the_record(
    folder: Path, fill: Fill, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    events = fill(2)
    write = os.write
    with Journal.open(folder) as journal:
        monkeypatch.setattr(os, "write", lambda fd, line: write(fd, line[:30]))
        monkeypatch.setattr(os, "ftruncate", raising(BROKEN))
        with pytest.raises(JournalError, match=r"not kept.*To go on, end the program"):
            journal.append("note", {"text": "half"}, at(3))
        monkeypatch.undo()
        with pytest.raises(JournalError, match="takes no more"):
            journal.append("note", {"text": "after"}, at(3))
    with Journal.open(folder) as journal:
        assert journal.events == events
        assert journal.set_aside is not None
        assert len(journal.set_aside.read_bytes()) == 30


def test_after_a_failed_sync_nothing_more_is_taken(
    folder: Path, fill: Fill, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    events = fill(2)
    with Journal.open(folder) as journal:
        monkeypatch.setattr(os, "fsync", raising(BROKEN))
        # Neither the line nor its removal was confirmed, and the sentence says so.
        with pytest.raises(JournalError, match=r"not certain.*Input/output.*resume the run"):
            journal.append("note", {"text": "lost"}, at(3))
        monkeypatch.undo()
        assert journal.events == events
        with pytest.raises(JournalError, match="disk failed to confirm"):
            journal.append("note", {"text": "after"}, at(3))
    assert read_journal(folder).events == events


def test_a_failed_sync_whose_removal_is_confirmed_kept_nothing(
    folder: Path, fill: Fill, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    events = fill(2)
    results = [BROKEN, None]

    def fails_once(_: int) -> None:
        if error := results.pop(0):
            raise error

    with Journal.open(folder) as journal:
        monkeypatch.setattr(os, "fsync", fails_once)
        with pytest.raises(JournalError, match="this reading was not kept: the disk did not"):
            journal.append("note", {"text": "lost"}, at(3))
        monkeypatch.undo()
        with pytest.raises(JournalError, match="takes no more"):
            journal.append("note", {"text": "after"}, at(3))
    assert read_journal(folder).events == events


def test_a_failed_sync_and_a_failed_cut_leave_a_sound_journal(
    folder: Path, fill: Fill, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    events = fill(2)
    with Journal.open(folder) as journal:
        monkeypatch.setattr(os, "fsync", raising(BROKEN))
        monkeypatch.setattr(os, "ftruncate", raising(BROKEN))
        with pytest.raises(JournalError, match="it is not certain that this reading was kept"):
            journal.append("note", {"text": "perhaps"}, at(3))
        monkeypatch.undo()
    record = read_journal(folder)
    assert record.is_whole
    assert record.events[:2] == events
    assert [event.data for event in record.events[2:]] == [{"text": "perhaps"}]


@pytest.mark.parametrize("call", ["write", "fsync"])
def test_an_interrupted_append_ends_the_writer(
    folder: Path, fill: Fill, at: At, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    events = fill(2)
    with Journal.open(folder) as journal:
        monkeypatch.setattr(os, call, raising(KeyboardInterrupt()))
        with pytest.raises(KeyboardInterrupt):
            journal.append("note", {"text": "cut"}, at(3))
        monkeypatch.undo()
        with pytest.raises(JournalError, match="interrupted while it was written"):
            journal.append("note", {"text": "after"}, at(3))
    record = read_journal(folder)
    assert record.is_whole
    assert record.events[:2] == events


@pytest.mark.parametrize("data", [{"x": object()}, {1: "x"}], ids=["no form", "no text key"])
def test_data_without_a_form_writes_nothing(
    folder: Path, fill: Fill, at: At, data: dict[str, object]
) -> None:
    fill(2)
    with Journal.open(folder) as journal:
        with pytest.raises(TypeError):
            journal.append("note", data, at(3))
        with pytest.raises(ValueError, match="time zone"):
            journal.append("note", {}, datetime(2026, 5, 1))  # noqa: DTZ001 - that is the point
        journal.append("note", {"text": "fine"}, at(3))
    assert read_journal(folder).is_whole


def remove(path: Path) -> None:
    path.unlink()


def replace_by_a_copy(path: Path) -> None:
    copy = path.with_suffix(".copy")
    copy.write_bytes(path.read_bytes())
    copy.replace(path)


def add_a_line(path: Path) -> None:
    with path.open("ab") as file:
        file.write(b"{}\n")


def empty(path: Path) -> None:
    path.write_bytes(b"")


@pytest.mark.parametrize("meddle", [remove, replace_by_a_copy, add_a_line, empty])
def test_a_journal_changed_by_another_program_takes_no_more(
    folder: Path, fill: Fill, at: At, meddle: Callable[[Path], None]
) -> None:
    fill(2)
    with Journal.open(folder) as journal:
        meddle(journal.path)
        with pytest.raises(JournalError, match=r"not kept: (the journal is gone|another program)"):
            journal.append("note", {"text": "where?"}, at(3))


def test_a_closed_journal_takes_no_more(folder: Path, at: At) -> None:
    journal = Journal.create(folder)
    journal.close()
    journal.close()
    with pytest.raises(JournalError, match="it was closed"):
        journal.append("note", {}, at(1))


def test_threads_that_append_at_once_make_one_chain(folder: Path, at: At) -> None:
    with Journal.create(folder) as journal, ThreadPoolExecutor(8) as pool:
        made = list(pool.map(lambda n: journal.append("note", {"n": n}, at(n)), range(200)))
    record = read_journal(folder)
    assert record.is_whole
    assert len(record.events) == 200
    assert sorted(made, key=lambda event: event.seq) == list(record.events)
