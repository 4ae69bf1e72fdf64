from __future__ import annotations

import errno
import os
from hashlib import sha256
from pathlib import Path

import pytest

from stepwise.errors import JournalError
from stepwise.journal import Journal, attach_file, find_log_folders, read_journal


def write(path: Path, content: bytes = b"time,volts\n0,1\n") -> Path:
    path.write_bytes(content)
    return path


def test_a_file_is_copied_under_a_new_name_with_its_hash(tmp_path: Path, folder: Path) -> None:
    content = os.urandom(3_000_000)
    source = write(tmp_path / "Square 1 kHz.CSV", content)
    name, content_hash = attach_file(folder, source)
    assert name == "attached-01-square-1-khz.csv"
    assert content_hash == sha256(content).hexdigest()
    assert (folder / name).read_bytes() == content == source.read_bytes()


def test_nothing_is_ever_overwritten(tmp_path: Path, folder: Path) -> None:
    source = write(tmp_path / "a.csv", b"first")
    first = attach_file(folder, source)
    write(source, b"second")
    second = attach_file(folder, source)
    again = attach_file(folder, folder / first.name)
    assert [first.name, second.name] == ["attached-01-a.csv", "attached-02-a.csv"]
    assert (folder / first.name).read_bytes() == b"first"
    assert (folder / second.name).read_bytes() == b"second"
    assert (folder / again.name).read_bytes() == b"first"


@pytest.mark.parametrize(
    ("source_name", "name"),
    [
        ("journal.jsonl", "attached-01-journal.jsonl"),
        (".hidden", "attached-01-hidden"),
        ("photo\n\x1b[31m.JPG", "attached-01-photo-31m.jpg"),
        ("青.png", "attached-01-file.png"),
        ("CON.txt", "attached-01-con.txt"),
        ("a." + "b" * 200, "attached-01-a." + "b" * 40),
    ],
)
@pytest.mark.skipif(os.name != "posix", reason="such names cannot exist here")
def test_a_copy_has_a_safe_name(tmp_path: Path, folder: Path, source_name: str, name: str) -> None:
    Journal.create(folder).close()
    assert attach_file(folder, write(tmp_path / source_name)).name == name
    assert read_journal(folder).is_whole
    assert find_log_folders(folder.parent) == (folder,)


def test_what_is_no_file_is_not_attached(tmp_path: Path, folder: Path) -> None:
    for source in (tmp_path / "missing.csv", tmp_path):
        with pytest.raises(JournalError, match="no file here that could be attached"):
            attach_file(folder, source)
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize("call", ["write", "fsync"])
def test_a_copy_that_fails_leaves_no_part_behind(
    tmp_path: Path, folder: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    source = write(tmp_path / "a.csv")

    def fail(*_: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, call, fail)
    with pytest.raises(JournalError, match="was not attached: No space left"):
        attach_file(folder, source)
    monkeypatch.undo()
    assert list(folder.iterdir()) == []


def test_a_copy_in_portions_is_whole(
    tmp_path: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.write
    monkeypatch.setattr(os, "write", lambda fd, content: real(fd, content[:7]))
    source = write(tmp_path / "a.csv", bytes(range(100)))
    assert (folder / attach_file(folder, source).name).read_bytes() == bytes(range(100))
