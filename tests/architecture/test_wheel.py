"""An installed program, far from the checkout, still lists and runs its procedures."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_wheel_carries_all_that_it_needs(tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", tmp_path, ROOT],
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("stepwise_bench-*.whl")
    installed, elsewhere = tmp_path / "installed", tmp_path / "elsewhere"
    elsewhere.mkdir()
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(installed)
    shipped = {
        path.relative_to(ROOT / "stepwise").as_posix()
        for pattern in ("*.tcss", "*.css", "*.j2", "*.toml", "*.json", "py.typed")
        for path in (ROOT / "stepwise").rglob(pattern)
    } | {f"procedures/{path.name}" for path in (ROOT / "procedures").glob("*.toml")}
    carried = {
        path.relative_to(installed / "stepwise").as_posix()
        for path in (installed / "stepwise").rglob("*")
    }
    assert shipped <= carried

    def stepwise(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "stepwise", *words],
            cwd=elsewhere,
            env={**os.environ, "PYTHONPATH": str(installed)},
            capture_output=True,
            text=True,
            check=False,
        )

    listed = stepwise("procedures")
    assert listed.returncode == 0, listed.stderr
    for name in ("first-look", "quick-check", "bench-check", "after-repair", "thermal-soak"):
        assert name in listed.stdout
    played = stepwise("rehearse", "quick-check", "--unattended", "--logs", str(tmp_path / "logs"))
    assert played.returncode in (0, 1), played.stderr
    assert Path(played.stdout.splitlines()[-1]).is_dir()
