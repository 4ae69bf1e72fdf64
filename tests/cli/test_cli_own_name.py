"""A command that is printed can be pasted into the shell that the program was started in."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from stepwise.cli.entry import main
from stepwise.cli.own_name import own_name
from stepwise.cli.plans import rehearsal_plan
from stepwise.cli.printing import print_left
from stepwise.cli.services import resume_command
from stepwise.run import Run
from tests.run.plans import Clock

EMPTY = "/nowhere"


def on_path(folder: Path) -> str:
    """A `stepwise` that the shell would find there."""
    program = folder / "stepwise"
    program.write_text("#!/bin/sh\n", encoding="utf-8")
    program.chmod(0o755)
    return str(folder)


def test_where_the_shell_finds_it_the_name_is_enough(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", on_path(tmp_path))
    assert own_name([".venv/bin/stepwise"], ["python3"]) == "stepwise"


@pytest.mark.parametrize(
    ("words", "started", "name"),
    [
        ([".venv/bin/stepwise", "rehearse"], ["/usr/bin/python3"], ".venv/bin/stepwise"),
        (["/a b/stepwise"], ["/usr/bin/python3"], "'/a b/stepwise'"),
        (["/src/stepwise/__main__.py"], ["python3", "-m", "stepwise"], "python3 -m stepwise"),
        (["/x/__main__.py"], [".venv/bin/python", "-m"], ".venv/bin/python -m stepwise"),
    ],
)
def test_elsewhere_it_is_called_as_it_was_started(
    monkeypatch: pytest.MonkeyPatch, words: list[str], started: list[str], name: str
) -> None:
    monkeypatch.setenv("PATH", EMPTY)
    assert own_name(words, started) == name


def test_what_a_room_below_says_to_type_is_called_as_the_program_was(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PATH", EMPTY)
    monkeypatch.setattr(sys, "argv", [".venv/bin/stepwise"])
    assert main(["rehearse", "--fault", "gremlins"]) == 2
    said = capsys.readouterr().err
    assert "more; “.venv/bin/stepwise rehearse --fault list” tells all" in said
    assert main(["show", "stepwise logs"]) == 2
    assert "there is no log “stepwise logs”" in capsys.readouterr().err


def test_a_log_is_carried_on_by_its_name_only_where_that_finds_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", EMPTY)
    monkeypatch.setattr(sys, "argv", [".venv/bin/stepwise"])
    monkeypatch.chdir(tmp_path)
    for logs in ("logs", "other logs"):
        with Run.start(rehearsal_plan("quick-check"), Path(logs), Clock()) as run:
            assert (run.folder / "journal.jsonl").is_file()
    name = run.folder.name
    assert resume_command(Path("logs") / name) == f".venv/bin/stepwise resume {name}"
    assert resume_command(run.folder) == f".venv/bin/stepwise resume 'other logs/{name}'"


def test_what_is_printed_on_leaving_resumes_the_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", EMPTY)
    monkeypatch.setattr(sys, "orig_argv", [sys.executable, "-m", "stepwise"])
    made = {"seed": 1, "faults": []}
    with Run.start(rehearsal_plan("quick-check"), tmp_path, Clock(), rehearsal=made) as run:
        print_left(run)
    command = capsys.readouterr().out.splitlines()[-1].strip()
    assert not command.startswith("stepwise ")
    done = subprocess.run(
        [*shlex.split(command), "--plain"],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        input="",
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert "Step 1 of 7: Make the bench safe" in done.stdout, done.stderr
