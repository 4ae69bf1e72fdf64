"""logs, compare, rank and archive, as a person or a script gives them."""

from __future__ import annotations

import csv
import errno
import json
import sys
from pathlib import Path

import pytest

from stepwise.cli import main
from stepwise.cli.printing import complain
from stepwise.run import Run
from tests.archive.entries import played, small_plan
from tests.run import plans

AMBER = plans.UNIT.replace("Teal", "Amber")
MARKED = (
    plans.PROCEDURE
    + '[[mark]]\nname = "Power"\nweight = 3\nfrom = "power"\nload = "8 ohm"\nzero = "0 W"\n'
    'ten = "90 W"\n[[mark]]\nname = "Bass"\nweight = 1\nfrom = "coupling_capacitance"\n'
    'step = "sweep"\nzero = "0 uF"\nten = "1 F"\n'
)


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    """Teal, ended; Amber, weaker and ended; Teal again, not ended."""
    folder = tmp_path / "logs"
    played(folder)
    played(folder, small_plan(AMBER), level="1.5 on 3 x10")
    played(folder, end=False, level="1.8 on 3 x10")
    return folder


def told(capsys: pytest.CaptureFixture[str], logs: Path, *words: str, code: int = 0) -> list[str]:
    capsys.readouterr()
    assert main(["--logs", str(logs), *words]) == code
    return capsys.readouterr().out.splitlines()


def test_what_logs_can_be_sorted_by_is_listed(
    logs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    listed = told(capsys, logs, "logs", "--sort", "list")
    assert {"began", "verdict", "power", "minus_3db_low"} <= set(listed)
    assert main(["--logs", str(logs), "logs", "--sort", "xyzzy"]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "known here: began, unit" in said
    assert said.endswith("more; “stepwise logs --sort list” tells all")


def column(lines: list[str]) -> list[str]:
    return [line.split()[0] for line in lines[1:]]


def test_logs_are_filtered_and_sorted(logs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert column(told(capsys, logs, "logs", "--unit", "amber")) == ["2026-03-14-amber-01"]
    assert column(told(capsys, logs, "logs", "--verdict", "unfinished")) == ["2026-03-14-teal-02"]
    lines = told(capsys, logs, "logs", "--sort", "power@8")
    assert column(lines)[-1] == "2026-03-14-amber-01"
    assert "POWER@8 OHM" in lines[0]
    assert "W" in lines[1]
    assert column(told(capsys, logs, "logs", "--sort", "power@8 ohm", "--reverse"))[0] == (
        "2026-03-14-amber-01"
    )
    assert len(column(told(capsys, logs, "logs", "teal", "try"))) == 2
    assert told(capsys, logs, "logs", "--limit", "2")[-1].startswith("… and more")


def test_a_list_that_is_empty_says_why(logs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert told(capsys, logs, "logs", "--since", "2030-01-01") == [f"No log in {logs} is like that"]
    assert told(capsys, logs / "none", "logs") == [f"There is no log in {logs / 'none'} yet"]


def test_the_list_as_json_holds_what_was_asked(
    logs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = json.loads("\n".join(told(capsys, logs, "logs", "--json", "--sort", "power")))
    assert found["format"] == 1
    assert not found["more"]
    assert [log["unit"] for log in found["logs"]][-1] == "Amber"
    assert found["logs"][0]["figure"]["unit"] == "W"
    assert Path(found["logs"][0]["folder"]).is_dir()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["logs", "--since", "yesterday"], "“yesterday” is no day; write for instance 2026-05-01"),
        (["logs", "--sort", "watts"], "no log has a result “watts” to sort by"),
        (["logs", "--verdict", "fine"], "there is no verdict “fine”"),
        (["logs", "--sort", "power@loud"], "“loud”"),
        (["logs", "--archive", "nonsense"], "the archive nonsense: is no address"),
        (["compare", "last"], "a comparison takes 2 to 26 logs, not 1"),
        (["archive"], "say what to do with the archive: push, export or rebuild"),
        (["rank", "nothing"], "there is no log “nothing”"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(
    logs: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(["--logs", str(logs), *words]) == 2
    printed = capsys.readouterr()
    assert said in printed.err
    assert len(printed.err.splitlines()) == 1


def test_a_comparison_fits_80_columns_and_says_first_what_is_not_the_same(
    logs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = told(capsys, logs, "compare", "2026-03-14-teal-01", "2026-03-14-amber-01")
    assert max(len(line) for line in lines) <= 80
    text = "\n".join(lines)
    assert text.startswith("A  Teal · try, revision 1")
    assert text.index("Not the same") < text.index("Clean power")
    assert "LESS" in text
    assert text.index("B − A") < text.index("Clean power")
    ending = " ".join(lines[-6:])
    assert "by more than the uncertainties allow" in ending
    assert "Every ± holds the true value in about 95 cases of 100" in ending


def test_three_logs_are_compared_and_all_readings_shown(
    logs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    names = ["2026-03-14-teal-01", "2026-03-14-amber-01", "2026-03-14-teal-02"]
    few = told(capsys, logs, "compare", *names)
    lines = told(capsys, logs, "compare", "--all", *names)
    assert max(len(line) for line in lines) <= 80
    assert len(lines) > len(few)
    assert any(line.startswith("C  Teal") for line in lines)


def test_a_comparison_as_json(logs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["compare", "--json", "2026-03-14-teal-01", "2026-03-14-amber-01"]
    record = json.loads("\n".join(told(capsys, logs, *words)))
    assert record["comparable"]
    power = next(
        each for each in record["results"] if (each["name"], each["load"]) == ("power", "8 ohm")
    )
    assert power["differences"][1]["change"] == "less"


def test_a_board_is_ranked_with_its_marks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from stepwise.run import plan_from_texts

    folder = tmp_path / "logs"
    for unit, level in ((plans.UNIT, "1.9 on 3 x10"), (AMBER, "1.5 on 3 x10")):
        plan = plan_from_texts(MARKED, unit, plans.BENCH, "try")
        with Run.start(plan, folder, plans.Clock()) as run:
            while (prompt := run.next_prompt()) is not None and prompt.step != "sweep":
                typed = level if prompt.point == "level" else plans.answer_for(prompt.point)
                run.take(prompt.key, typed)
            run.end()
    lines = told(capsys, folder, "rank", "2026-03-14-amber-01")
    assert max(len(line) for line in lines) <= 80
    text = " ".join(" ".join(lines).split())
    assert "Among the units tested by try" in text
    assert "Mark out of ten" in text
    assert "2nd of 2" in text
    assert "nothing was found for it" in text
    assert "over 3 of 4 points of weight" in text
    record = json.loads("\n".join(told(capsys, folder, "rank", "2026-03-14-teal-01", "--json")))
    assert record["standings"][0]["place"] == 1
    assert record["marks"]["weight_given"] == 3
    assert record["marks"]["criteria"][1]["mark"] is None


@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_the_archive_is_exported(
    logs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], form: str
) -> None:
    out = tmp_path / "out"
    (line,) = told(capsys, logs, "archive", "export", f"{out}/", "--as", form)
    path = out / f"results.{form}"
    assert line.endswith(f"results in {path}")
    count = int(line.split()[0])
    if form == "csv":
        with path.open(encoding="utf-8", newline="") as file:
            assert len(list(csv.DictReader(file))) == count
    else:
        import pyarrow.parquet as pq

        assert pq.read_table(path).num_rows == count
    assert [each.name for each in out.iterdir()] == [path.name]


def test_without_pyarrow_the_file_that_was_asked_for_is_named(
    logs: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    path = tmp_path / "out" / "all.parquet"
    assert main(["--logs", str(logs), "archive", "export", str(path)]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert f"{path}: Parquet needs pyarrow; in the folder of the project run" in said
    assert "-m pip install -e '.[parquet]'" in said
    assert not path.parent.exists()


def test_the_form_follows_the_name_of_the_file(
    logs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told(capsys, logs, "archive", "export", str(tmp_path / "all.parquet"))
    assert (tmp_path / "all.parquet").read_bytes()[:4] == b"PAR1"
    told(capsys, logs, "archive", "export", str(tmp_path / "all.txt"))
    assert (tmp_path / "all.txt").read_text(encoding="utf-8").startswith("log,folder,unit")


def test_an_export_that_cannot_be_written_leaves_nothing(
    logs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert main(["--logs", str(logs), "archive", "export", str(tmp_path / "file" / "x.csv")]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_an_export_never_takes_the_place_of_a_journal(
    logs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    journal = next(logs.glob("*/journal.jsonl"))
    before = journal.read_bytes()
    assert main(["--logs", str(logs), "archive", "export", str(journal)]) == 2
    assert "would be the journal of a log" in capsys.readouterr().err
    assert journal.read_bytes() == before


def test_an_export_that_ends_midway_leaves_the_older_file(
    logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(*_: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    target = tmp_path / "out" / "all.csv"
    told(capsys, logs, "archive", "export", str(target))
    before = target.read_bytes()
    monkeypatch.setattr("stepwise.archive.write_csv", full)
    assert main(["--logs", str(logs), "archive", "export", str(target)]) == 2
    assert "No space left" in capsys.readouterr().err
    assert target.read_bytes() == before
    assert [each.name for each in target.parent.iterdir()] == ["all.csv"]


def test_the_index_is_made_anew_on_request(logs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert told(capsys, logs, "archive", "rebuild") == [
        f"3 logs read into {logs / 'archive.sqlite'}"
    ]


def test_a_broken_index_is_said_and_the_list_is_right(
    logs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = told(capsys, logs, "logs")
    (logs / "archive.sqlite").write_bytes(b"\x00" * 9000)
    assert main(["--logs", str(logs), "logs"]) == 0
    printed = capsys.readouterr()
    assert printed.out.splitlines() == before
    assert "made again from the journals" in printed.err


def test_names_of_people_reach_no_terminal_as_commands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "logs"
    odd = small_plan(plans.UNIT.replace('"Teal"', '"\\u001b[2JTeal"'.replace("\\u001b", "Q")))
    for _ in range(2):
        with Run.start(odd, folder, plans.Clock(), episode="\x1b[31mred") as run:
            plans.play(run)
    names = sorted(path.name for path in folder.iterdir() if path.is_dir())
    for words in (["logs"], ["rank", names[0]], ["compare", *names]):
        assert "\x1b" not in "\n".join(told(capsys, folder, *words))


def test_logs_are_pushed_to_a_shared_archive_and_found_there(
    logs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from stepwise.archive import tables
    from stepwise.archive.engine import server_engine
    from tests.archive.postgres import server

    with server() as url:
        pushed = told(capsys, logs, "archive", "push", "--archive", url)
        assert pushed == ["3 new, 0 gone on, 0 there already"]
        again = told(capsys, logs, "archive", "push", "--archive", url)
        assert again == ["0 new, 0 gone on, 3 there already"]
        elsewhere = tmp_path / "elsewhere"
        played(elsewhere, small_plan(plans.UNIT.replace("Teal", "Slate")))
        told(capsys, elsewhere, "archive", "push", "--archive", url)
        assert len(column(told(capsys, logs, "logs", "--archive", url))) == 4
        ranked = told(capsys, logs, "rank", "2026-03-14-amber-01", "--archive", url)
        assert any("of 3" in line for line in ranked)
        out = tmp_path / "shared.csv"
        told(capsys, logs, "archive", "export", str(out), "--archive", url)
        assert "Slate" in out.read_text(encoding="utf-8")
        engine = server_engine(url)
        tables.TABLES.drop_all(engine)
        engine.dispose()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["logs", "--limit", "9" * 30], "a list has 1 to 1000000 lines"),
        (["logs", "--sort", "power@8 V"], "“8 V” is no load"),
        (
            ["logs", "--archive", "postgresql://u:geheim@h:port/db"],
            "the archive h:port/db: is no address",
        ),
        (["archive", "rebuild", "--logs", "nowhere"], "there is no such folder of logs"),
    ],
)
def test_what_cannot_be_asked_is_said_in_a_sentence(
    logs: Path, words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--logs", str(logs), *words]) == 2
    printed = capsys.readouterr().err
    assert said in printed
    assert "unexpected" not in printed
    assert "geheim" not in printed


def test_the_last_day_of_the_calendar_is_a_day(
    logs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert len(told(capsys, logs, "logs", "--until", "9999-12-31")) == 4


def test_what_is_said_beside_a_log_reaches_no_terminal_as_commands(
    capsys: pytest.CaptureFixture[str],
) -> None:
    complain("the log \x1b[2J\u202e is damaged")
    assert capsys.readouterr().err == "stepwise: the log \\x1b[2J\\u202e is damaged\n"
