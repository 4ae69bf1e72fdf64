"""What a command brings in before it has anything to say: no more than it needs."""

from __future__ import annotations

import importlib
import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

import stepwise.report
from stepwise.run import Run
from tests.run.plans import Clock, plan, play

ROOT = Path(__file__).parents[2]
ROOMS_OF_A_RUN = {"stepwise.run", "stepwise.procedure", "stepwise.steps", "stepwise.judge"}
HEAVY = {"numpy", "pint", "sqlalchemy", "msgspec", "jinja2", "matplotlib", "tree_sitter"}


def modules_after(code: str) -> set[str]:
    """Everything that a program has imported at its end."""
    told = f"{code}\nimport sys\nprint('\\n'.join(sys.modules), file=sys.stderr)"
    done = subprocess.run(
        [sys.executable, "-c", told], capture_output=True, text=True, check=True, cwd=ROOT
    )
    return set(done.stderr.split())


def after_command(*words: str) -> set[str]:
    return modules_after(f"from stepwise.cli import main\nassert main({list(words)!r}) in (0, 1)")


@pytest.fixture
def logs(tmp_path: Path) -> str:
    with Run.start(plan(), tmp_path / "logs", Clock()) as run:
        play(run)
        run.end()
    return str(tmp_path / "logs")


@pytest.mark.parametrize("word", ["--help", "--version"])
def test_help_needs_its_words_and_nothing_else(word: str) -> None:
    found = after_command(word)
    assert not (HEAVY | {"textual", "dataclasses", "inspect"}) & found
    rooms = {name.split(".")[1] for name in found if name.startswith("stepwise.")}
    assert rooms <= {"cli", "errors", "safe_text"}
    commands = {
        f"stepwise.cli.{path.stem}"
        for path in (ROOT / "stepwise" / "cli").glob("*.py")
        if "def carry_out(" in path.read_text(encoding="utf-8")
    }
    assert len(commands) > 10
    assert not commands & found


def test_the_first_screen_stands_before_anything_of_a_run_is_read() -> None:
    found = modules_after(
        "import asyncio\nfrom pathlib import Path\n"
        "from stepwise.cli.services import services\nfrom stepwise.tui import StepwiseApp\n"
        "StepwiseApp._warm_up = lambda self: None\n"
        "async def look():\n"
        "    async with StepwiseApp(services(Path('nowhere'))).run_test() as pilot:\n"
        "        await pilot.pause()\n"
        "        assert pilot.app.screen.query('#home-list')\n"
        "asyncio.run(look())"
    )
    assert "stepwise.tui.screens.home" in found
    assert not (HEAVY | ROOMS_OF_A_RUN) & found
    assert {name for name in found if name.startswith("stepwise.tui.screens.")} == {
        "stepwise.tui.screens.home"
    }


def test_a_list_of_logs_reads_no_run(logs: str) -> None:
    after_command("logs", "--logs", logs)  # makes the index
    found = after_command("logs", "--logs", logs)
    assert "sqlalchemy" in found
    assert not {"stepwise.run", "stepwise.procedure", "stepwise.steps", "numpy", "pint"} & found


def test_every_name_of_the_reports_is_where_its_table_says() -> None:
    files = stepwise.report._FILES
    assert sorted(files) == sorted(stepwise.report.__all__)
    for name, file in files.items():
        assert importlib.util.find_spec(f"stepwise.report.{name}") is None
        assert getattr(stepwise.report, name) is getattr(
            importlib.import_module(f"stepwise.report.{file}"), name
        )
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        stepwise.report.nothing  # noqa: B018
