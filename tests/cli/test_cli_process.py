"""The program as a process: what it loads, its exit codes, closed pipes, and the last net."""

from __future__ import annotations

import os
import subprocess
import sys
from argparse import Namespace
from pathlib import Path

import pytest

from stepwise import __version__
from stepwise.cli import logs as logs_command
from stepwise.cli import main
from stepwise.run import Run
from tests.run.plans import Clock, plan, play

ROOT = Path(__file__).parents[2]
HEAVY = {"numpy", "pint", "rich", "textual", "msgspec", "tree_sitter"}


def loaded(*words: str) -> tuple[set[str], str]:
    """Top-level modules that a command brings in, and what it prints."""
    code = (
        "import sys\nfrom stepwise.cli import main\n"
        f"code = main({list(words)!r})\n"
        "print('\\n'.join(sys.modules), file=sys.stderr)\nsys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert done.returncode in (0, 1), done.stderr
    return {name.split(".")[0] for name in done.stderr.split()}, done.stdout


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    """One finished log."""
    with Run.start(plan(), tmp_path / "logs", Clock()) as run:
        play(run)
        run.end()
    return tmp_path / "logs"


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["run", "--help"]])
def test_help_and_version_load_nothing_heavy(words: list[str]) -> None:
    modules, printed = loaded(*words)
    assert not HEAVY & modules
    assert "stepwise" in printed


def test_looking_at_logs_loads_no_screen(logs: Path) -> None:
    for words in (["show", "last"], ["show", "last", "--json"], ["check", "last"], ["logs"]):
        modules, printed = loaded("--logs", str(logs), *words)
        assert not {"textual", "rich", "pint", "tree_sitter"} & modules, words
        assert printed


def test_a_list_of_logs_loads_no_science(logs: Path) -> None:
    assert "numpy" not in loaded("--logs", str(logs), "logs")[0]


def test_the_version_is_printed_by_the_module() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "stepwise", "--version"],
        capture_output=True, text=True, check=True, cwd=ROOT,
    )  # fmt: skip
    assert done.stdout == f"stepwise {__version__}\n"


def test_a_closed_pipe_is_no_error(logs: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    words = [sys.executable, "-m", "stepwise", "--logs", str(logs), "show", "last"]
    try:
        done = subprocess.run(words, stdout=writing, stderr=subprocess.PIPE, cwd=ROOT, check=False)
    finally:
        os.close(writing)
    assert done.returncode == 141
    assert done.stderr == b""


def test_a_terminal_without_our_alphabet_gets_every_line(logs: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "stepwise", "--logs", str(logs), "show", "last"],
        capture_output=True, check=False, cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert done.returncode == 1
    assert b"8 \\u03a9" in done.stdout
    assert done.stderr == b""


@pytest.mark.parametrize(
    ("words", "said"),
    [(["bogus"], "invalid choice"), (["run"], "required"), (["show"], "required")],
)
def test_what_cannot_be_parsed_is_exit_code_two(
    capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(words) == 2
    assert said in capsys.readouterr().err


def test_what_nobody_foresaw_is_a_sentence_with_details_in_a_file(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def broken(_: Namespace) -> int:
        raise ZeroDivisionError("\x1b[2Jnobody foresaw this")

    monkeypatch.setattr(logs_command, "carry_out", broken)
    monkeypatch.setattr("platformdirs.user_state_path", lambda *_, **__: tmp_path / "state")
    assert main(["logs"]) == 2
    told = capsys.readouterr().err
    assert "nothing that was recorded is lost" in told
    assert "Traceback" not in told
    assert "\x1b" not in told
    (details,) = (tmp_path / "state").glob("*.txt")
    assert "nobody foresaw this" in details.read_text(encoding="utf-8")
    assert str(details) in told


def test_details_that_cannot_be_written_are_said(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def broken(_: Namespace) -> int:
        raise ZeroDivisionError("nobody foresaw this")

    (tmp_path / "state").write_text("a file in the way", encoding="utf-8")
    monkeypatch.setattr(logs_command, "carry_out", broken)
    monkeypatch.setattr("platformdirs.user_state_path", lambda *_, **__: tmp_path / "state")
    assert main(["logs"]) == 2
    told = capsys.readouterr().err
    assert "the details cannot be written" in told
    assert "in broken" in told


def test_logs_are_kept_here_where_there_is_a_folder_for_them_else_at_home(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    main(["logs"])
    assert str(Path.home()) in capsys.readouterr().out
    Path("logs").mkdir()
    main(["logs"])
    assert capsys.readouterr().out == "There is no log in logs yet\n"


Shown = list[tuple[object, object]]


@pytest.fixture
def screens(monkeypatch: pytest.MonkeyPatch) -> Shown:
    """A terminal, and screens that only say with what they were opened."""
    from stepwise.tui import StepwiseApp

    shown: Shown = []

    def opened(app: StepwiseApp, *, mouse: bool = True) -> None:
        shown.append((app._opens, mouse))

    monkeypatch.setattr(StepwiseApp, "run", opened)
    for module in ("screens", "front_end", "rehearse"):
        monkeypatch.setattr(f"stepwise.cli.{module}.has_terminal", lambda: True)
    return shown


def test_at_a_terminal_the_screens_open(
    screens: Shown, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    logs = str(tmp_path / "logs")
    assert main(["--logs", logs]) == 0
    assert main(["rehearse", "quick-check", "--no-mouse", "--no-bell", "--logs", logs]) == 0
    assert main(["resume", "last", "--logs", logs]) == 0
    (home, home_mouse), (rehearsal, mouse), (carried, carried_mouse) = screens
    assert (home.run, home_mouse) == (None, True)
    assert rehearsal.run.plan.procedure.name == "quick-check"
    assert (rehearsal.bench.title, rehearsal.bell, mouse) == (carried.bench.title, False, False)
    assert carried.run.folder == rehearsal.run.folder
    assert carried_mouse is True
    assert f"stepwise resume {carried.run.folder}" in capsys.readouterr().out


def test_a_run_that_was_ended_on_the_screens_gives_its_verdict(
    screens: Shown, logs: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from stepwise.tui import StepwiseApp

    monkeypatch.setattr(StepwiseApp, "run", lambda app, *, mouse: app._opens.run.end())
    assert main(["resume", "last", "--logs", str(logs)]) == 1
    told = capsys.readouterr().out.splitlines()
    assert told[-2].startswith("Out of spec: ")
    assert (Path(told[-1]) / "journal.jsonl").is_file()
