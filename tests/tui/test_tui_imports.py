"""What may not be imported before the first screen stands."""

from __future__ import annotations

import subprocess
import sys

_SCRIPT = """
import sys
import stepwise.tui
heavy = {"numpy", "pint", "jinja2", "sqlite3"} & set(sys.modules)
print(sorted(heavy))
"""


def test_the_screens_import_nothing_heavy() -> None:
    done = subprocess.run(
        [sys.executable, "-c", _SCRIPT], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "[]"
