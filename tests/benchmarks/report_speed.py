"""What a report of a whole first look costs, form by form, in processor time and on the clock.

    python -m tests.benchmarks.report_speed

The first page of a process pays for its libraries; a second shows what is left. Prints,
asserts nothing.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from stepwise.report import (
    build_report,
    html_page,
    markdown_page,
    notes_text,
    pictures,
    readings_csv,
    talk_text,
)
from stepwise.run import read_run
from tests.report.logs import rehearsed


def timed(name: str, work: Callable[[], object]) -> None:
    clock, processor = time.perf_counter(), time.process_time()
    work()
    took = time.perf_counter() - clock, time.process_time() - processor
    print(f"{name:<28} {took[0] * 1e3:8.0f} ms on the clock {took[1] * 1e3:8.0f} ms of processor")


def main() -> None:
    with TemporaryDirectory() as logs:
        folder = rehearsed(Path(logs)).run.folder
        command = [sys.executable, "-m", "stepwise", "report", str(folder), "--logs", logs]
        timed(
            "the command, whole", lambda: subprocess.run(command, capture_output=True, check=False)
        )
        timed("reading the log", lambda: read_run(folder))
        view = read_run(folder)
        timed("html, with its libraries", lambda: html_page(build_report(view)))
        timed("html, once more", lambda: html_page(build_report(view)))
        timed("markdown", lambda: markdown_page(build_report(view)))
        timed("csv", lambda: readings_csv(view))
        timed("talk", lambda: talk_text(view))
        timed("notes", lambda: notes_text(view))
        timed("pictures", lambda: list(pictures(view)))


if __name__ == "__main__":
    main()
