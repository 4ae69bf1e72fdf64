"""The commands, as a person or a script gives them."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stepwise.cli import main
from stepwise.cli.plans import rehearsal_bench, rehearsal_plan
from stepwise.cli.rehearse import answer_all
from stepwise.cli.services import services
from stepwise.journal import Journal, attach_file
from stepwise.rehearsal import bench_text, unit_text
from stepwise.run import Card, Run
from stepwise.steps import Prompt, Setting
from tests.run.plans import Clock, plan

PROCEDURE = """\
[procedure]
title = "Paper notes"
revision = 1
summary = "What was noted by hand."
[[step]]
id = "safe"
kind = "confirm"
title = "Make the bench safe"
hold = true
items = ["Loads on"]
[[step]]
id = "clip"
kind = "clip"
title = "Clean power"
repeat = ["channel", "load"]
[[step]]
id = "sweep"
kind = "sweep"
title = "Response"
repeat = ["channel"]
points = ["60 Hz", "30 Hz", "20 Hz", "10 Hz"]
reference_again = false
[step.limits]
minus_3db_low = { max = "20 Hz" }
"""
NOTES = """\
step,channel,load,point,reading,note
clip,left,8 ohm,level,20 V,
clip,left,4,level,17 V,tops just touching
clip,right,8R,level,2.0 on 3 x10,
clip,right,4 ohm,level,1.7 on 3 x10,
sweep,left,,60,-1,
sweep,left,,30 Hz,-2,
sweep,left,,20 Hz,-4.5,
sweep,left,,0.01 kHz,-10,
"""


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    desk = tmp_path / "desk"
    desk.mkdir()
    exact = bench_text().replace('"8.06 ohm"', '"8 ohm"').replace('"4.02 ohm"', '"4 ohm"')
    for name, text in {
        "notes.toml": PROCEDURE,
        "unit.toml": unit_text(),
        "bench.toml": exact,
        "notes.csv": NOTES,
    }.items():
        (desk / name).write_text(text, encoding="utf-8")
    return desk


def transcribe(desk: Path) -> int:
    return main(
        ["transcribe", str(desk / "notes.toml"), str(desk / "notes.csv"),
         "--unit", str(desk / "unit.toml"), "--bench", str(desk / "bench.toml"),
         "--logs", str(desk / "logs")]
    )  # fmt: skip


def shown(desk: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, list[dict[str, object]]]:
    capsys.readouterr()
    main(["show", "last", "--json", "--logs", str(desk / "logs")])
    return json.loads(capsys.readouterr().out)


def test_paper_notes_give_their_powers_and_the_early_roll_off(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert transcribe(desk) == 1  # the low end is out of spec
    folder = Path(capsys.readouterr().out.splitlines()[-1])
    assert (folder / "journal.jsonl").is_file()
    record = shown(desk, capsys)
    power = {
        (r["channel"], r["load"]): r["value"] for r in record["results"] if r["name"] == "power"
    }
    assert power == {
        ("left", "8 ohm"): pytest.approx(50.0),
        ("left", "4 ohm"): pytest.approx(72.25),
        ("right", "8 ohm"): pytest.approx(50.0),
        ("right", "4 ohm"): pytest.approx(72.25),
    }
    # Levels of -1, -2, -4.5, -10 dB at 60, 30, 20, 10 Hz: common practice, no source.
    corner = next(r["value"] for r in record["results"] if r["name"] == "corner_low")
    assert 24.0 < corner < 30.0
    assert "early-roll-off-low" in [flag["flag"] for flag in record["flags"]]


def test_rows_that_do_not_fit_are_refused_and_nothing_is_written(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = "clpi,left,8 ohm,level,20,\nclip,left,8 ohm,level,21,\nsweep,left,,60 Hz,3 ohm,\n"
    (desk / "notes.csv").write_text(NOTES.replace("sweep,left,,60,-1,\n", "") + bad)
    assert transcribe(desk) == 2
    told = capsys.readouterr().err
    assert "row 9" in told
    assert "did you mean “clip”?" in told
    assert "row 10" in told
    assert "row 2" in told.partition("row 10")[2]
    assert "row 11, reading" in told
    assert not list(desk.glob("logs/*"))


def test_an_unattended_rehearsal_prints_the_sheet_and_its_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["rehearse", "--unattended", "--seed", "1", "--logs", str(tmp_path / "logs")]
    assert main(words) == 0
    lines = capsys.readouterr().out.splitlines()
    assert Path(lines[-1]).is_dir()
    assert any("Clean power" in line for line in lines)
    main(["show", "last", "--json", "--logs", str(tmp_path / "logs")])
    names = {result["name"] for result in json.loads(capsys.readouterr().out)["results"]}
    assert names >= {
        "level", "power", "power_at_ten_percent", "sag", "regulation", "ceiling", "headroom_loss",
        "claim_ratio", "gain", "source_impedance", "damping_factor", "level_db", "minus_1db_low",
        "minus_1db_high", "corner_low", "corner_high", "coupling_capacitance", "flatness",
        "overshoot", "tilt", "rise_time", "temperature", "idle_power", "offset", "channel_balance",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("fault", "flag"),
    [("small-coupling-capacitor", "early-roll-off-low"), ("dc-offset", "dc-offset")],
)
def test_a_fault_in_the_board_is_flagged(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], fault: str, flag: str
) -> None:
    logs = str(tmp_path / "logs")
    assert main(["rehearse", "--unattended", "--fault", fault, "--logs", logs]) == 1
    capsys.readouterr()
    main(["show", "last", "--json", "--logs", logs])
    assert flag in [each["flag"] for each in json.loads(capsys.readouterr().out)["flags"]]


def test_check_tells_good_files_and_damaged_logs(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(desk / "notes.toml"), str(desk / "unit.toml")]) == 0
    transcribe(desk)
    folder = Path(capsys.readouterr().out.splitlines()[-1])
    assert main(["check", str(folder)]) == 0
    journal = folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b'"20 V"', b'"29 V"'))
    assert main(["check", str(folder)]) == 1
    assert "journal.jsonl:2" in capsys.readouterr().out


def test_check_tells_kinds_and_every_problem_with_its_line(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (desk / "broken.toml").write_text('[unit]\nnam = "Teal"\nchannels = []\n', encoding="utf-8")
    (desk / "other.toml").write_text("[tool]\nx = 1\n", encoding="utf-8")
    names = ("notes.toml", "unit.toml", "bench.toml", "broken.toml", "other.toml", "none.toml")
    assert main(["check", "first-look", *(str(desk / name) for name in names)]) == 1
    told = capsys.readouterr().out
    assert "first-look.toml: ok, procedure “" in told
    assert "notes.toml: ok, procedure “Paper notes”" in told
    assert "unit.toml: ok, unit “Teal”" in told
    assert "bench.toml: ok, bench “Hall workshop”" in told
    assert "broken.toml:2: unit.nam: is not a known key; did you mean “name”?" in told
    assert "broken.toml:3: unit.channels: is empty" in told
    assert "other.toml: is neither a procedure nor a unit nor a bench" in told
    assert "none.toml: there is no such file" in told


def test_check_finds_an_attachment_that_was_changed(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    transcribe(desk)
    folder = Path(capsys.readouterr().out.splitlines()[-1])
    attached = attach_file(folder, desk / "notes.csv")
    with Journal.open(folder) as journal:
        data = {"key": None, "name": attached.name, "sha256": attached.sha256}
        journal.append("attach", data, datetime(2026, 3, 14, tzinfo=UTC))
    assert main(["check", str(folder)]) == 0
    (folder / attached.name).write_text("another table", encoding="utf-8")
    assert main(["check", str(folder)]) == 1
    (folder / attached.name).unlink()
    assert main(["check", str(folder)]) == 1
    told = capsys.readouterr().out
    assert "was changed after it was attached" in told
    assert "was attached and cannot be read" in told


def test_what_cannot_be_carried_out_is_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["show", "nothing", "--logs", str(tmp_path)]) == 2
    assert "there is no log “nothing”" in capsys.readouterr().err


def test_logs_are_listed_with_what_became_of_them(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    logs = str(desk / "logs")
    assert main(["logs", "--logs", logs]) == 0
    assert "There is no log" in capsys.readouterr().out
    transcribe(desk)
    main(["rehearse", "quick-check", "--unattended", "--logs", logs])
    with Run.start(plan(), desk / "logs", Clock()):
        pass
    damaged = desk / "logs" / "2026-01-01-teal-01"
    damaged.mkdir()
    (damaged / "journal.jsonl").write_bytes(b"nothing of ours\n")
    capsys.readouterr()
    assert main(["--logs", logs, "logs"]) == 0
    told = capsys.readouterr().out
    lines = {line.split()[0]: line for line in told.splitlines()}
    assert "damaged at line 1" in lines["2026-01-01-teal-01"]
    assert "unfinished, 0 answered" in lines["2026-03-14-teal-01"]
    assert any("out of spec, transcribed" in line for line in lines.values())
    assert any("in spec, rehearsal" in line for line in lines.values())


def test_a_log_is_found_by_folder_journal_name_and_last(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    transcribe(desk)
    folder = Path(capsys.readouterr().out.splitlines()[-1])
    for text in (str(folder), str(folder / "journal.jsonl"), folder.name, "last"):
        assert main(["show", text, "--logs", str(desk / "logs")]) == 1
        assert "Paper notes" in capsys.readouterr().out


def test_a_damaged_log_is_shown_with_a_sentence_where(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    transcribe(desk)
    folder = Path(capsys.readouterr().out.splitlines()[-1])
    journal = folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b'"17 V"', b'"18 V"'))
    assert main(["show", str(folder)]) == 1
    printed = capsys.readouterr()
    assert "Clean power" in printed.out
    assert "journal.jsonl:3: this line was changed" in printed.err
    assert main(["show", str(folder), "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["log"]["integrity"]["damages"][0]["line"] == 3


def test_procedures_and_faults_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["procedures"]) == 0
    told = capsys.readouterr().out
    assert all(name in told for name in ("first-look: ", "quick-check: ", "bench-check: "))
    assert main(["rehearse", "--fault", "list"]) == 0
    assert "small-coupling-capacitor" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["rehearse", "--fault", "gremlins"], "there is no fault “gremlins”"),
        (["rehearse", "--fault", "dc-ofset"], "did you mean “dc-offset”? “stepwise rehearse"),
        (["rehearse", "--fault", "gremlins"], "more; “stepwise rehearse --fault list” tells all"),
        (["rehearse", "--fault", "dc-offset:2"], "“2” is no severity"),
        (["rehearse", "--fault", "dc-offset:"], "“” is no severity"),
        (["rehearse", "first-lok"], "did you mean “first-look”?"),
        (["show", "last"], "there is no log in"),
        (["resume", "2026-05-05-teal-01"], "there is no log “2026-05-05-teal-01”"),
        (["show", "x" * 5000], "there is no log"),
        ([], "the screens need a terminal"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_left_behind(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(["--logs", str(tmp_path / "logs"), *words]) == 2
    printed = capsys.readouterr()
    assert said in printed.err
    assert "Traceback" not in printed.err
    assert not (tmp_path / "logs").exists()


def test_all_that_is_wrong_with_three_files_is_said_at_once(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["run", "first-lok", "--unit", "grey", "--bench", "attic"]) == 2
    told = capsys.readouterr().err.splitlines()
    assert [line.partition(": ")[2].partition(":")[0] for line in told] == [
        "first-lok",
        "grey",
        "attic",
    ]


def test_a_rehearsal_stops_at_a_hold_point_that_stays_shut(tmp_path: Path) -> None:
    class Stubborn:
        title = "a bench that never confirms"

        def answer(self, prompt: Prompt, card: Card) -> str | None:
            return "n" if prompt.key == "safe///1" else "y"

        def panel(self, prompt: Prompt, card: Card) -> tuple[Setting, ...]:
            return ()

    with Run.start(plan(), tmp_path, Clock()) as run:
        answer_all(run, Stubborn())
        assert run.ended
        assert len(run.state.history["safe///1"]) == 2
        assert str(run.state.ended["remark"]).startswith("Stopped. Not so, so all that follows")
        assert run.line("safe///2") is None
        assert run.review().verdict.value == "out of spec"


def test_a_rehearsal_is_carried_on_at_the_bench_it_was_begun_on(tmp_path: Path) -> None:
    whole = rehearsal_plan("quick-check")
    made = {"seed": 7, "faults": [["dc-offset", 0.5]]}
    with Run.start(whole, tmp_path, Clock(), rehearsal=made) as run:
        bench = rehearsal_bench(run)
        assert bench is not None
        for _ in range(12):
            prompt = run.next_prompt()
            run.take(prompt.key, bench.answer(prompt, run.card(prompt.key)))
        prompt = run.next_prompt()
        wanted, folder = bench.answer(prompt, run.card(prompt.key)), run.folder
    with Run.resume(folder, Clock()) as again:
        other = rehearsal_bench(again)
        assert other.answer(prompt, again.card(prompt.key)) == wanted
        assert other.board == bench.board


def test_a_rehearsal_is_carried_on_from_the_first_screen_with_its_bench(tmp_path: Path) -> None:
    ours = services(tmp_path)
    run, bench = ours.rehearsal_run()
    with run:
        for _ in range(12):
            prompt = run.next_prompt()
            run.take(prompt.key, bench.answer(prompt, run.card(prompt.key)))
        folder, prompt = run.folder, run.next_prompt()
    again, other = ours.resume_run(folder)
    with again:
        assert again.next_prompt().key == prompt.key
        assert other.board == bench.board
        again.take(prompt.key, other.answer(prompt, again.card(prompt.key)))
        assert prompt.key in again.state.answers


def test_no_log_but_a_rehearsal_brings_a_simulated_bench(tmp_path: Path) -> None:
    with Run.start(plan(), tmp_path, Clock()) as run:
        assert rehearsal_bench(run) is None
