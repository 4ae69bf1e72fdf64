from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stepwise.errors import JournalError
from stepwise.journal import Journal, find_log_folders, last_log_folder, new_log_folder
from stepwise.journal.folder import slug

At = Callable[[int], datetime]
MAY_DAY = date(2026, 5, 1)


@pytest.mark.parametrize(
    ("unit_name", "folder_name"),
    [
        ("Teal", "2026-05-01-teal-01"),
        ("Board Amber, no. 2", "2026-05-01-board-amber-no-2-01"),
        ("Señal Übung", "2026-05-01-senal-ubung-01"),
        ("../../etc/passwd", "2026-05-01-etc-passwd-01"),
        ("..", "2026-05-01-unit-01"),
        ("", "2026-05-01-unit-01"),
        ("C:\\Slate\x00\n\x1b[31m", "2026-05-01-c-slate-31m-01"),
        ("青緑", "2026-05-01-unit-01"),
        ("x" * 300, "2026-05-01-" + "x" * 40 + "-01"),
    ],
)
def test_a_log_folder_has_a_safe_name(tmp_path: Path, unit_name: str, folder_name: str) -> None:
    assert new_log_folder(tmp_path, unit_name, MAY_DAY) == tmp_path / folder_name
    assert [child.name for child in tmp_path.iterdir()] == [folder_name]


@given(st.text())
def test_any_name_becomes_a_safe_one(name: str) -> None:
    safe = slug(name, "unit")
    assert 1 <= len(safe) <= 40
    assert set(safe) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert not safe.startswith("-")
    assert not safe.endswith("-")


def test_numbers_count_up_past_99_for_each_unit_and_day(tmp_path: Path) -> None:
    names = [new_log_folder(tmp_path, "Teal", MAY_DAY).name for _ in range(101)]
    assert names[0] == "2026-05-01-teal-01"
    assert names[-1] == "2026-05-01-teal-101"
    assert new_log_folder(tmp_path, "Amber", MAY_DAY).name == "2026-05-01-amber-01"


def test_folders_asked_for_at_once_are_different_ones(tmp_path: Path) -> None:
    with ThreadPoolExecutor(8) as pool:
        made = list(pool.map(lambda _: new_log_folder(tmp_path, "Teal", MAY_DAY), range(64)))
    assert len(set(made)) == 64
    assert all(folder.is_dir() for folder in made)


def test_logs_is_made_where_it_is_missing(tmp_path: Path) -> None:
    folder = new_log_folder(tmp_path / "a" / "logs", "Teal", MAY_DAY)
    assert folder == tmp_path / "a" / "logs" / "2026-05-01-teal-01"


def test_a_file_in_the_place_of_logs_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "logs").write_text("", encoding="utf-8")
    with pytest.raises(JournalError, match="no log can be started here"):
        new_log_folder(tmp_path / "logs", "Teal", MAY_DAY)
    with pytest.raises(JournalError, match="cannot be listed"):
        find_log_folders(tmp_path / "logs")


def test_logs_are_found_in_the_order_in_which_they_began(tmp_path: Path, at: At) -> None:
    began = {"2026-05-01-teal-02": 5, "2026-05-01-amber-01": 9, "renamed by hand": 7}
    for name, seq in began.items():
        (tmp_path / name).mkdir()
        with Journal.create(tmp_path / name) as journal:
            journal.append("begin", {}, at(seq))
    (tmp_path / "2026-04-30-slate-01").mkdir()
    Journal.create(tmp_path / "2026-04-30-slate-01").close()  # began, and died at once
    (tmp_path / "2026-05-01-slate-01").mkdir()  # has no journal
    (tmp_path / "README.md").write_text("about", encoding="utf-8")
    found = [folder.name for folder in find_log_folders(tmp_path)]
    assert found == [
        "2026-04-30-slate-01",
        "2026-05-01-teal-02",
        "renamed by hand",
        "2026-05-01-amber-01",
    ]


def write_log(folder: Path, *instants: datetime, note: str = "") -> Path:
    folder.mkdir(exist_ok=True)
    with Journal.create(folder) as journal:
        for instant in instants:
            journal.append("note", {"text": note}, instant)
    return folder


@pytest.mark.parametrize("length", [10, 5_000, 300_000])
def test_the_last_log_is_the_one_written_to_last(tmp_path: Path, at: At, length: int) -> None:
    quote = '\n{"seq":9,"at":"2026-06-01T09:00:00.000Z"'
    write_log(tmp_path / "2026-05-01-amber-01", at(3), at(5), note=quote)
    carried_on = write_log(tmp_path / "2026-05-01-teal-01", at(1), at(9), note="x" * length)
    write_log(tmp_path / "2026-04-30-slate-01")  # began, and died at once
    assert last_log_folder(tmp_path) == carried_on
    (tmp_path / "2026-05-03-teal-01").mkdir()  # has no journal
    assert last_log_folder(tmp_path) == tmp_path / "2026-05-01-teal-01"


def test_a_line_that_was_cut_off_does_not_hide_when_a_log_was_written(
    tmp_path: Path, at: At
) -> None:
    torn = write_log(tmp_path / "2026-05-01-teal-01", at(1), at(9))
    with (torn / "journal.jsonl").open("ab") as journal:
        journal.write(b'{"seq":3,"a')
    write_log(tmp_path / "2026-05-01-amber-01", at(3))
    assert last_log_folder(tmp_path) == torn


def test_a_clock_that_ran_ahead_does_not_keep_a_log_the_last(tmp_path: Path, at: At) -> None:
    ahead = write_log(tmp_path / "2026-05-01-amber-01", at(1), at(1000))
    os.utime(ahead / "journal.jsonl", (at(5).timestamp(), at(5).timestamp()))
    later = write_log(tmp_path / "2026-05-01-teal-01", at(2), at(9))
    assert last_log_folder(tmp_path) == later


def test_without_a_folder_of_logs_there_are_none(tmp_path: Path) -> None:
    assert find_log_folders(tmp_path / "missing") == ()
    assert last_log_folder(tmp_path / "missing") is None


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="everything is open to root"
)
def test_a_log_that_may_not_be_looked_into_is_listed(tmp_path: Path) -> None:
    closed = tmp_path / "2026-05-01-teal-01"
    closed.mkdir()
    Journal.create(closed).close()
    closed.chmod(0)
    try:
        assert find_log_folders(tmp_path) == (closed,)
    finally:
        closed.chmod(0o700)
