"""A shell that finds the program by its bare name, unless a test takes that away."""

from __future__ import annotations

import os
from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _called_by_name(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder: Path = tmp_path_factory.mktemp("bin")
    program = folder / "stepwise"
    program.write_text("#!/bin/sh\nexit 3\n", encoding="utf-8")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")
