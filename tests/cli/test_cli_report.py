"""`stepwise report`, as a person or a script gives it."""

from __future__ import annotations

import csv
import io
import os
from pathlib import Path

import pytest

from stepwise.cli import main
from stepwise.cli.report import write_report
from stepwise.cli.written import write_file
from stepwise.errors import StepwiseError
from stepwise.run import Run
from tests.run.plans import Clock, answer_for, plan


@pytest.fixture
def log(tmp_path: Path) -> Path:
    with Run.start(plan(), tmp_path / "logs", Clock()) as run:
        while (prompt := run.next_prompt()) is not None:
            run.take(prompt.key, answer_for(prompt.point), sure=True)
        run.end()
        return run.folder


def report(log: Path, *words: str) -> int:
    return main(["report", *words, "--logs", str(log.parent)])


def test_a_page_goes_beside_the_journal(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert report(log, str(log)) == 1  # something is out of spec, as `show` says it
    path = Path(capsys.readouterr().out.strip())
    assert path == log / "report.html"
    assert path.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_words_go_to_standard_output(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report(log, log.name, "--as", "markdown")
    assert capsys.readouterr().out.startswith("# Teal: ✗ out of spec")
    report(log, log.name, "--as", "csv")
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert rows[0]["unit_name"] == "Teal"
    report(log, "last", "--for", "notes")
    assert "Verdict: out of spec" in capsys.readouterr().out
    report(log, "last", "--output", "-")
    assert capsys.readouterr().out.startswith("<!DOCTYPE html>")


def test_the_log_may_stand_last(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report(log, "--for", "talk", log.name)
    first = capsys.readouterr().out
    report(log, log.name, "--for", "talk")
    assert capsys.readouterr().out == first
    assert first.startswith("This is Teal")


def test_a_file_is_written_where_it_is_wanted(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wanted = tmp_path / "new folder" / "readings.csv"
    report(log, log.name, "--as", "csv", "--output", str(wanted))
    assert capsys.readouterr().out == f"{wanted}\n"
    assert wanted.read_bytes().startswith(b'"log","unit_name"')
    assert [each.name for each in wanted.parent.iterdir()] == ["readings.csv"]


@pytest.mark.skipif(os.name == "nt", reason="rights of files are of another kind there")
def test_a_file_for_others_can_be_read_by_them(log: Path, tmp_path: Path) -> None:
    plain = tmp_path / "plain"
    plain.touch()
    report(log, log.name, "--output", str(tmp_path / "page.html"))
    assert (tmp_path / "page.html").stat().st_mode == plain.stat().st_mode


def test_pictures_go_into_their_folder(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "cards"
    report(log, log.name, "--for", "pictures", str(folder))
    written = [Path(line) for line in capsys.readouterr().out.splitlines()]
    assert sorted(written) == sorted(folder.iterdir())
    assert folder / "01-title.png" in written
    report(log, "--for", "pictures", log.name)
    assert (log / "pictures" / "01-title.svg").is_file()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["last", "--for", "radio"], "--for radio: write talk, notes or pictures"),
        (["last", "--for", "pictures", "a", "--output", "b"], "is given twice"),
        (["--for", "talk"], "which log?"),
        (["last", "--as", "csv", "--for", "talk"], "give one of them"),
        (["last", "--for", "notes", "somewhere"], "“somewhere” is one word too many"),
        (["last", "--output", "journal.jsonl"], "would be the journal of a log"),
        (["nowhere"], "there is no log “nowhere”"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(
    log: Path, words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert report(log, *words) == 2
    captured = capsys.readouterr()
    assert said in captured.err
    assert captured.out == ""


def test_a_damaged_log_is_reported_with_a_warning(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = log / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"typed":"12"', b'"typed":"13"', 1))
    assert report(log, log.name, "--as", "markdown") == 1
    captured = capsys.readouterr()
    assert "The log is damaged from line" in captured.out
    assert "was changed" in captured.err


def test_a_file_that_cannot_be_written_is_a_sentence(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("x", encoding="utf-8")
    with pytest.raises(StepwiseError, match="cannot be written"):
        write_file(blocked / "report.html", b"x")
    with pytest.raises(StepwiseError, match="is a folder"):
        write_file(tmp_path, b"x")
    assert sorted(tmp_path.iterdir()) == [blocked]


def test_the_screens_are_given_the_same_report(log: Path) -> None:
    page = write_report(log)
    assert page == log / "report.html"
    assert write_report(log, "markdown").name == "report.md"
    assert write_report(log, "notes").name == "notes.txt"
    assert write_report(log).read_bytes() == page.read_bytes()
