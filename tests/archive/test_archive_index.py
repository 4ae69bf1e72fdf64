"""The index follows the journals: incremental, rebuilt when broken, never the truth."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from stepwise.archive import (
    INDEX_NAME,
    ArchiveError,
    Query,
    engine,
    local_archive,
    rebuild_local,
    with_local_archive,
)
from stepwise.archive.archive import Archive
from stepwise.run import Run
from tests.archive.entries import played, small_plan
from tests.run import plans

ROOT = Path(__file__).parents[2]


def listed(archive: Archive) -> list[str]:
    return sorted(row.name for row in archive.find(Query()).rows)


def everything(logs: Path) -> tuple[list[str], tuple[str, ...]]:
    return with_local_archive(logs, listed)


def test_only_what_is_new_or_has_changed_is_read(tmp_path: Path) -> None:
    first = played(tmp_path)
    with local_archive(tmp_path) as archive:
        assert archive.refresh().read == 1
        assert archive.refresh().read == 0
        second = played(tmp_path, small_plan(plans.UNIT.replace("Teal", "Amber")), end=False)
        assert archive.refresh().read == 1
        assert listed(archive) == sorted([first.name, second.name])
        with Run.resume(second, plans.Clock()) as run:
            run.end()
        assert archive.refresh().read == 1
        assert archive.find(Query(verdict="unfinished")).rows == ()


def test_a_log_that_is_taken_away_is_gone_from_the_index(tmp_path: Path) -> None:
    folder = played(tmp_path)
    other = played(tmp_path, small_plan(plans.UNIT.replace("Teal", "Amber")))
    everything(tmp_path)
    shutil.rmtree(folder)
    assert everything(tmp_path)[0] == [other.name]


def test_a_copy_of_a_log_is_the_same_log(tmp_path: Path) -> None:
    folder = played(tmp_path)
    shutil.copytree(folder, tmp_path / "copy")
    with local_archive(tmp_path) as archive:
        assert archive.refresh().read == 2
        assert len(listed(archive)) == 1
        assert archive.refresh().read == 0
        shutil.rmtree(tmp_path / "copy")
        archive.refresh()
        assert len(listed(archive)) == 1


def test_rows_say_where_the_log_lies(tmp_path: Path) -> None:
    folder = played(tmp_path)
    ((row,), _) = with_local_archive(tmp_path, lambda archive: archive.find(Query()).rows)
    assert row.folder == folder


def foreign_text(path: Path) -> None:
    path.write_text("my own notes about archives\n" * 200, encoding="utf-8")


def foreign_database(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    connection.close()


def other_form(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE stepwise_form SET form = 99")
    connection.close()


def torn_pages(path: Path) -> None:
    content = bytearray(path.read_bytes())
    for start in range(4096, len(content), 4096):
        content[start : start + 512] = os.urandom(512)
    path.write_bytes(bytes(content))


def cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:5000])


@pytest.mark.parametrize(
    "spoil", [foreign_text, foreign_database, other_form, torn_pages, cut_short]
)
def test_an_index_that_is_broken_or_not_ours_is_made_anew_and_set_aside(
    tmp_path: Path, spoil: Callable[[Path], None]
) -> None:
    folder = played(tmp_path)
    path = tmp_path / INDEX_NAME
    if spoil not in (foreign_text, foreign_database):
        everything(tmp_path)
    spoil(path)
    spoilt = path.read_bytes()
    names, notices = everything(tmp_path)
    assert names == [folder.name]
    (notice,) = notices
    assert "set aside as archive-set-aside-1.sqlite and made again from the journals" in notice
    assert (tmp_path / "archive-set-aside-1.sqlite").read_bytes() == spoilt
    assert everything(tmp_path) == ([folder.name], ())


def test_nothing_but_the_journals_is_needed(tmp_path: Path) -> None:
    folder = played(tmp_path)
    before = with_local_archive(tmp_path, lambda archive: archive.find(Query()))
    assert rebuild_local(tmp_path) == 1
    assert with_local_archive(tmp_path, lambda archive: archive.find(Query())) == before
    assert (folder / "journal.jsonl").exists()


def test_where_no_index_can_be_written_it_is_kept_in_memory(tmp_path: Path) -> None:
    folder = played(tmp_path)
    (tmp_path / INDEX_NAME).mkdir()
    names, notices = everything(tmp_path)
    assert names == [folder.name]
    assert "the logs are read into memory instead" in notices[0]


def test_no_logs_is_no_error_and_leaves_nothing_behind(tmp_path: Path) -> None:
    assert everything(tmp_path / "none") == ([], ())
    assert not (tmp_path / "none").exists()


def test_a_file_in_place_of_the_logs_is_said(tmp_path: Path) -> None:
    (tmp_path / "logs").write_text("", encoding="utf-8")
    with pytest.raises((ArchiveError, OSError)):
        everything(tmp_path / "logs")


_REFRESH = """
import sys
from pathlib import Path
from stepwise.archive import local_archive
with local_archive(Path(sys.argv[1])) as archive:
    for _ in range(3):
        archive.refresh()
"""


def test_two_processes_may_bring_in_the_same_logs(tmp_path: Path) -> None:
    for number in range(8):
        played(tmp_path, small_plan(plans.UNIT.replace("Teal", f"Teal {number}")))
    local_archive(tmp_path).close()
    words = [sys.executable, "-W", "error", "-c", _REFRESH, str(tmp_path)]
    at_once = [
        subprocess.Popen(words, stderr=subprocess.PIPE, text=True, cwd=ROOT) for _ in range(2)
    ]
    told = [process.communicate(timeout=60)[1] for process in at_once]
    assert [process.returncode for process in at_once] == [0, 0], told
    with local_archive(tmp_path) as archive:
        assert archive.refresh().read == 0
        assert len(listed(archive)) == 8


def test_the_room_brings_in_no_database_until_one_is_opened() -> None:
    words = "import sys, stepwise.archive; print('sqlalchemy' in sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", words], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout.strip() == "False"


def test_two_programs_may_bring_the_index_up_to_date_at_once(tmp_path: Path) -> None:
    folders = [
        played(tmp_path, small_plan(plans.UNIT.replace("Teal", f"Teal {n}"))) for n in range(3)
    ]
    with local_archive(tmp_path) as one, local_archive(tmp_path) as other:
        one.refresh()
        other.refresh()
        assert listed(one) == listed(other) == sorted(folder.name for folder in folders)


def test_where_nothing_can_be_added_to_the_index_the_logs_are_read_into_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = played(tmp_path)
    everything(tmp_path)
    second = played(tmp_path, small_plan(plans.UNIT.replace("Teal", "Amber")))
    prepare = engine._prepare

    def full(connection: sqlite3.Connection, record: object) -> None:
        prepare(connection, record)
        if connection.execute("PRAGMA database_list").fetchone()[2]:
            (pages,) = connection.execute("PRAGMA page_count").fetchone()
            connection.execute(f"PRAGMA max_page_count = {pages}")

    monkeypatch.setattr(engine, "_prepare", full)
    names, (notice,) = everything(tmp_path)
    assert names == sorted([first.name, second.name])
    assert "full; the logs are read into memory instead" in notice


def test_a_rebuild_does_not_claim_an_index_that_it_could_not_write(tmp_path: Path) -> None:
    with pytest.raises(ArchiveError, match="no such folder of logs"):
        rebuild_local(tmp_path / "none")
    assert not (tmp_path / "none").exists()
