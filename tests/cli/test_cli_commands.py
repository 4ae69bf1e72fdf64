"""The commands, as a person or a script gives them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from stepwise.cli import main
from stepwise.rehearsal import bench_text, unit_text

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


def test_a_plain_run_asks_and_tells(
    desk: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    typed = iter(["", "y", "lots", "20", "/", "/ no 4 ohm load today", "# hums", "quit"])
    monkeypatch.setattr("builtins.input", lambda _: next(typed))
    words = ["run", str(desk / "notes.toml"), "--plain", "--unit", str(desk / "unit.toml"),
             "--bench", str(desk / "bench.toml"), "--logs", str(desk / "logs")]  # fmt: skip
    assert main(words) == 0
    told = capsys.readouterr().out
    assert "Clean power 50.0" in told
    assert "Say why it is skipped" in told
    assert "stepwise resume" in told


def test_what_cannot_be_carried_out_is_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["show", "nothing", "--logs", str(tmp_path)]) == 2
    assert "there is no log “nothing”" in capsys.readouterr().err
