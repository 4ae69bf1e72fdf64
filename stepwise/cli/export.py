"""`stepwise archive export`: every result of every log, for other programs."""

from __future__ import annotations

import os
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.cli.archives import use_archive
from stepwise.cli.places import logs_folder
from stepwise.cli.written import replacing

if TYPE_CHECKING:
    from stepwise.archive import Archive

_STEM = "results"


def carry_out(arguments: Namespace) -> int:
    """Write the file whole or not at all; say how many results are in it."""
    path, form = _target(arguments.target, arguments.form)
    logs = logs_folder(arguments.logs)
    count = use_archive(arguments.archive, logs, lambda archive: _write(archive, path, form))
    print(f"{count} {'result' if count == 1 else 'results'} in {path}")
    return 0


def _target(text: str, form: str | None) -> tuple[Path, str]:
    path = Path(text)
    if path.is_dir() or text.endswith(("/", os.sep)):
        form = form or "csv"
        return path / f"{_STEM}.{form}", form
    if form is None:
        form = "parquet" if path.suffix.lower() == ".parquet" else "csv"
    return path, form


def _write(archive: Archive, path: Path, form: str) -> int:
    from stepwise.archive import require_parquet, write_csv, write_parquet

    if form == "parquet":
        require_parquet(path)  # names the file that was asked for, not the one made beside it
    with replacing(path) as made:
        if form == "parquet":
            return write_parquet(archive.tidy(), made)
        with made.open("w", encoding="utf-8", newline="") as file:
            return write_csv(archive.tidy(), file)
