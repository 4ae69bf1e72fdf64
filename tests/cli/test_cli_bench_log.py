"""`--bench-log`: the bench's own response from a log of bench-check, or a sentence why not."""

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
id = "sweep"
kind = "sweep"
title = "Response"
points = ["20 Hz", "20 kHz", "50 kHz"]
reference_again = false
"""
OF_BENCH = PROCEDURE.replace("points", "of_bench = true\npoints")
OWN = """\
step,channel,load,point,reading,note
sweep,,,20 Hz,-0.5,
sweep,,,20 kHz,-1.5,
sweep,,,50 kHz,-3,
"""
NOTES = """\
step,channel,load,point,reading,note
sweep,,,20 Hz,-2,
sweep,,,20 kHz,-0.5,
sweep,,,50 kHz,-2,
"""


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    for name, text in {
        "notes.toml": PROCEDURE,
        "of-bench.toml": OF_BENCH,
        "own.csv": OWN,
        "unit.toml": unit_text(),
        "bench.toml": bench_text(),
        "notes.csv": NOTES,
    }.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def transcribe(desk: Path, what: str = "notes", *more: str) -> int:
    procedure, table = ("of-bench", "own") if what == "bench" else ("notes", "notes")
    return main(
        ["transcribe", str(desk / f"{procedure}.toml"), str(desk / f"{table}.csv"),
         "--unit", str(desk / "unit.toml"), "--bench", str(desk / "bench.toml"),
         "--logs", str(desk / "logs"), *more]
    )  # fmt: skip


def shown(desk: Path, log: str, capsys: pytest.CaptureFixture[str]) -> dict[str, float]:
    capsys.readouterr()
    main(["show", log, "--json", "--logs", str(desk / "logs")])
    results = json.loads(capsys.readouterr().out)["results"]
    return {each["point"]: each["value"] for each in results if each["name"] == "level_db"}


def test_the_bench_is_taken_off_a_sweep_and_the_sheet_says_so(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert transcribe(desk, "bench") == 0
    assert transcribe(desk, "notes", "--bench-log", "last") == 0
    assert "bench's -1.50 dB" in capsys.readouterr().out
    found = shown(desk, "last", capsys)
    assert found == {"20 Hz": -1.5, "20 kHz": 1.0, "50 kHz": 1.0}


def test_a_log_of_the_shipped_bench_check_will_do(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["rehearse", "bench-check", "--unattended", "--logs", str(desk / "logs")]) in (0, 1)
    own = shown(desk, "last", capsys)
    assert transcribe(desk, "notes", "--bench-log", "last") == 0
    found = shown(desk, "last", capsys)
    assert found["20 Hz"] == pytest.approx(-2.0 - own["20 Hz"], abs=1e-9)


def test_a_log_without_the_bench_is_refused_before_anything_is_written(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert transcribe(desk) == 0
    before = sorted(each.name for each in (desk / "logs").iterdir())
    assert transcribe(desk, "notes", "--bench-log", "last") == 2
    assert "holds no sweep of the bench itself" in capsys.readouterr().err
    assert transcribe(desk, "notes", "--bench-log", "nowhere") == 2
    assert "there is no log “nowhere”" in capsys.readouterr().err
    assert sorted(each.name for each in (desk / "logs").iterdir()) == before
