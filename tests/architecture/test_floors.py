"""Imports run down the floors, and heavy libraries stay out where they are not needed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def test_imports_run_down_the_floors() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def _modules_after(statement: str) -> set[str]:
    code = f"import sys\n{statement}\nprint('\\n'.join(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    return {name.split(".")[0] for name in done.stdout.split()}


@pytest.mark.parametrize(
    ("room", "absent"),
    [
        ("stepwise.quantities", {"numpy", "pint", "textual", "rich"}),
        ("stepwise.journal", {"numpy", "pint", "textual", "rich"}),
        ("stepwise.judge", {"numpy", "pint", "textual", "rich"}),
        ("stepwise.bench", {"numpy", "pint", "textual", "rich"}),
        ("stepwise.steps", {"numpy", "pint", "textual", "rich"}),
        ("stepwise.run", {"numpy", "pint", "textual", "rich", "tree_sitter"}),
        ("stepwise.report", {"numpy", "pint", "textual", "rich", "jinja2", "matplotlib"}),
        ("stepwise.science", {"pint", "textual", "rich"}),
        ("stepwise.cli", {"numpy", "pint", "textual", "rich", "msgspec"}),
    ],
)
def test_a_room_brings_in_nothing_heavy(room: str, absent: set[str]) -> None:
    assert not absent & _modules_after(f"import {room}")
