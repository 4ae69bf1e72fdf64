"""The sheet on a real terminal, asking for many readings while every write is slow.

python -m tests.trust.many_readings FOLDER COUNT SECONDS
"""

from __future__ import annotations

import os
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

from stepwise.cli.services import services
from stepwise.rehearsal import bench_text, unit_text
from stepwise.run import Run, plan_from_texts
from stepwise.tui import Start, StepwiseApp


def procedure(count: int) -> str:
    """A procedure of so many readings, each with a name of its own."""
    rows = ",\n".join(
        f' {{ name = "row_{number}", ask = "Row {number}", unit = "V" }}' for number in range(count)
    )
    return f"""\
[procedure]
title = "Many"
revision = 1
summary = "many"
[[step]]
id = "rows"
kind = "readings"
title = "Rows"
readings = [
{rows},
]
"""


def slow_down(seconds: float) -> None:
    """Let every write of the journal take longer."""
    real = os.fsync

    def slow(descriptor: int) -> None:
        time.sleep(seconds)
        real(descriptor)

    os.fsync = slow


def main() -> int:
    """Open the sheet on a fresh run."""
    folder, count, seconds = Path(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3])
    plan = plan_from_texts(procedure(count), unit_text(), bench_text(), "many")
    run = Run.start(plan, folder, lambda: datetime.now(UTC))
    slow_down(seconds)
    StepwiseApp(services(folder), Start(run=run)).run(mouse=False)
    return 0


if __name__ == "__main__":
    sys.exit(main())
